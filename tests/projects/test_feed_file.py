"""The feed as a file: held against RFC 5545 line by line, and read back by two libraries that share no code."""

import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from hypothesis import given
from hypothesis import strategies as st

from projects.feed_file import FeedEvent, feed_bytes, sequence_at, uid_of

PLANNED = datetime(2027, 2, 26, 16, 5, 9, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")


def stretch(**more: object) -> FeedEvent:
    values: dict[str, object] = {
        "about": "step 1.0 p1.g5.coat",
        "summary": "Glue up layers 1 to 8",
        "start": datetime(2027, 3, 1, 8, 0, tzinfo=UTC),
        "end": datetime(2027, 3, 1, 8, 25, tzinfo=UTC),
    }
    return FeedEvent(**{**values, **more})  # type: ignore[arg-type]


def written(*events: FeedEvent, planned_at: datetime = PLANNED, owner: str = "studio 7") -> bytes:
    return feed_bytes(events, name="Bench, Fern Gully", owner=owner, planned_at=planned_at)


def lines(feed: bytes) -> list[str]:
    """Unfolded as RFC 5545, 3.1 says: a line end and one space or tab are taken out together."""
    return re.sub(b"\r\n[ \t]", b"", feed).decode().removesuffix("\r\n").split("\r\n")


texts = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=200)


@given(texts, texts)
def test_any_words_come_back_as_they_were_but_for_control_characters(summary: str, note: str) -> None:
    feed = written(stretch(summary=summary, description=note))
    for line in feed.split(b"\r\n"):
        assert len(line) <= 75  # RFC 5545, 3.1: octets, not characters
        line.decode()  # and no character is parted
    (event,) = icalendar.Calendar.from_ical(feed).walk("VEVENT")
    kept = re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", "", re.sub("\r\n|[\r\x85\u2028\u2029]", "\n", summary))
    assert str(event["SUMMARY"]) == kept
    assert feed.count(b"BEGIN:VEVENT") == 1
    names = [re.split("[:;]", line)[0] for line in lines(feed)]
    assert names.count("SUMMARY") == names.count("UID") == names.count("DTSTART") == 1


def test_a_feed_has_what_the_standard_asks_of_it_and_nothing_twice() -> None:
    """RFC 5545, 3.6 and 3.6.1: PRODID and VERSION once; UID and DTSTAMP once in each event."""
    feed = lines(written(stretch(), stretch(about="other")))
    assert feed[0] == "BEGIN:VCALENDAR"
    assert feed[-1] == "END:VCALENDAR"
    names = [re.split("[:;]", line)[0] for line in feed]
    assert names.count("PRODID") == names.count("VERSION") == 1
    assert names.count("UID") == names.count("DTSTAMP") == names.count("SEQUENCE") == 2
    assert "VERSION:2.0" in feed
    assert "DTSTART:20270301T080000Z" in feed
    assert "DTEND:20270301T082500Z" in feed
    assert "DTSTAMP:20270226T160509Z" in feed
    # RFC 7986, 5.1 and 5.7
    assert "NAME:Bench\\, Fern Gully" in feed
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT1H" in feed


def test_both_libraries_read_the_same_times_words_and_names() -> None:
    events = [
        stretch(),
        stretch(
            about="cure",
            summary="Curing; leave it, please",
            start=datetime(2027, 3, 27, 20, 0, tzinfo=BERLIN),
            end=datetime(2027, 3, 28, 8, 0, tzinfo=BERLIN),
            free=True,
        ),
        stretch(about="promise", summary="Promised", start=date(2027, 4, 2), end=date(2027, 4, 3), free=True),
    ]
    feed = written(*events)
    one = icalendar.Calendar.from_ical(feed).walk("VEVENT")
    two = vobject.readOne(feed.decode()).vevent_list
    assert len(one) == len(two) == 3
    for event, first, second in zip(events, one, two, strict=True):
        assert first.decoded("DTSTART") == second.dtstart.value == event.start
        assert first.decoded("DTEND") == second.dtend.value == event.end
        assert str(first["SUMMARY"]) == second.summary.value == event.summary
        assert str(first["UID"]) == second.uid.value == uid_of(event.about, owner="studio 7")
        assert str(first["TRANSP"]) == second.transp.value == ("TRANSPARENT" if event.free else "OPAQUE")
    # The night the clocks go forward is eleven hours long.
    assert two[1].dtend.value - two[1].dtstart.value == timedelta(hours=11)
    assert "VALUE=DATE" in next(line for line in lines(feed) if line.startswith("DTSTART;"))


def test_an_alarm_rings_at_the_end() -> None:
    feed = written(stretch(alarm="Set: take it off the mandrel"))
    (alarm,) = icalendar.Calendar.from_ical(feed).walk("VALARM")
    assert alarm.decoded("TRIGGER") == timedelta(0)
    assert alarm["TRIGGER"].params["RELATED"] == "END"
    assert str(alarm["ACTION"]) == "DISPLAY"
    assert str(alarm["DESCRIPTION"]) == "Set: take it off the mandrel"
    (event,) = vobject.readOne(feed.decode()).vevent_list
    assert event.valarm.description.value == "Set: take it off the mandrel"


def test_names_stay_and_the_sequence_grows_when_it_is_planned_again() -> None:
    later = PLANNED + timedelta(minutes=3)
    before, after = (
        icalendar.Calendar.from_ical(feed).walk("VEVENT")[0]
        for feed in (
            written(stretch()),
            written(stretch(start=PLANNED, end=later, summary="Turned"), planned_at=later),
        )
    )
    assert before["UID"] == after["UID"]
    assert after["SEQUENCE"] == before["SEQUENCE"] + 3
    assert uid_of("a", owner="studio 7") != uid_of("a", owner="studio 8")
    # RFC 5545, 3.3.8: an integer of 32 bits with its sign.
    assert 0 <= sequence_at(datetime(2999, 1, 1, tzinfo=UTC)) < 2**31
    assert sequence_at(datetime(2020, 1, 1, tzinfo=UTC)) == 0


def test_one_plan_gives_the_same_bytes_each_time() -> None:
    assert written(stretch()) == written(stretch())


def test_what_the_standard_has_no_place_for_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        written(stretch(start=datetime(2027, 3, 1, 8), end=datetime(2027, 3, 1, 9)))  # noqa: DTZ001
    with pytest.raises(ValueError, match="ends after it begins"):
        written(stretch(end=datetime(2027, 3, 1, 8, 0, tzinfo=UTC)))
    with pytest.raises(ValueError, match="two moments or between two days"):
        written(stretch(end=date(2027, 3, 2)))
