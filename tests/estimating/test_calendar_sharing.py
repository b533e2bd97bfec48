"""Set-ups and mixes that serve several jobs: done once, split by what is done with them, and nobody later for it."""

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.calendar.jobs import Calendar, CalendarJob, Happened
from estimating.calendar.plan import plan_calendar
from estimating.calendar.sharing import Sharing, share_set_ups
from estimating.calendar.state import State, state_of
from estimating.steps.step import MIX, PERSON, SAW, SetUp, Share, Step
from tests.estimating.calendars import bench, by_key, check, job, on, past
from tests.estimating.sheets import Json, bowl, changed, modest

OPERATION = "rip strips"


def states(*jobs: CalendarJob) -> list[State]:
    return [state_of(one, place=one.name, minute_of=lambda at: 0, now=0) for one in jobs]


def shared(*jobs: CalendarJob, clamps: int = 4, mixes: bool = True) -> Sharing:
    return share_set_ups(states(*jobs), clamps=clamps, mixes=mixes)


def total(jobs: Sequence[CalendarJob]) -> float:
    return math.fsum(step.minutes for one in jobs for step in one.steps if step.is_hands_on)


def ripping(*settings: tuple[str, float, float], own: float = 30.0) -> Step:
    """A run at the fence: its settings (key, minutes, weight), and minutes of its own."""
    minutes = own + sum(one for _, one, _ in settings)
    set_ups = tuple(SetUp(key, "fence", OPERATION, one, weight) for key, one, weight in settings)
    share = Share(OPERATION, minutes, float(len(settings)), 10.0)
    return Step(
        "rip", "Rip", "hands_on", minutes, (share,), uses=((PERSON, 1), ("fence", 1)), set_ups=set_ups
    )


def ripper(name: str, *settings: tuple[str, float, float], own: float = 30.0) -> CalendarJob:
    return CalendarJob(name, (ripping(*settings, own=own),))


# --- the split ----------------------------------------------------------------------------------------------------


def test_a_setting_is_split_by_what_is_ripped_at_it() -> None:
    """6 minutes, 30 m and 10 m at it: 4.5 and 1.5; a setting of its own stays whole."""
    one = ripper("one", ("fence 40.0", 6, 30), ("fence 20.0", 6, 5))
    other = ripper("other", ("fence 40.0", 6, 10))
    found = shared(one, other)
    (a,), (b,) = (made.steps for made in found.jobs)
    assert (a.minutes, b.minutes) == (pytest.approx(30 + 4.5 + 6), pytest.approx(30 + 1.5))
    assert (a.shares[0].setups, b.shares[0].setups) == (pytest.approx(1.75), pytest.approx(0.25))
    assert (a.shares[0].quantity, b.shares[0].quantity) == (10, 10)
    assert found.joint[0, "rip"] == found.joint[1, "rip"]
    assert (found.partners((0, "rip")), found.partners((1, "rip"))) == (("other",), ("one",))


@modest
@given(
    st.lists(
        st.dictionaries(st.sampled_from("abcd"), st.floats(0.1, 9), min_size=1, max_size=4),
        min_size=2,
        max_size=4,
    )
)
def test_what_is_shared_takes_exactly_one_set_up_together(wanted: list[dict[str, float]]) -> None:
    jobs = [
        ripper(str(n), *((key, 6.0, weight) for key, weight in of.items())) for n, of in enumerate(wanted)
    ]
    found = shared(*jobs)
    groups = [[number for number in range(len(jobs)) if found.joint.get((number, "rip")) == name]
              for name in set(found.joint.values())]  # fmt: skip
    saved = 0.0
    for members in groups:
        keys = [key for number in members for key in wanted[number]]
        saved += 6.0 * (len(keys) - len(set(keys)))
    assert total(found.jobs) == pytest.approx(total(jobs) - saved, rel=1e-12)
    for made in found.jobs:
        for step in made.steps:
            assert step.minutes == pytest.approx(math.fsum(share.minutes for share in step.shares), rel=1e-12)
            assert all(one.minutes > 0 for one in step.set_ups)


def test_two_bowls_alike_save_every_set_up_of_one() -> None:
    """Planer, fence, proof and stop: one bowl's of each is saved, half of it by either."""
    jobs = [job("one"), job("two")]
    found = shared(*jobs, mixes=False)
    set_ups = math.fsum(one.minutes for step in jobs[0].steps for one in step.set_ups if one.machine != MIX)
    assert total(found.jobs) == pytest.approx(total(jobs) - set_ups, rel=1e-12)
    one, two = ({step.key: step for step in made.steps} for made in found.jobs)
    assert {key: step.minutes for key, step in one.items()} == {
        key: step.minutes for key, step in two.items()
    }


# --- who shares ---------------------------------------------------------------------------------------------------


def test_a_job_alone_shares_nothing() -> None:
    assert not shared(job("one")).joint


def test_what_has_begun_is_not_shared_any_more() -> None:
    started = job("one", happened={"choose": Happened(past(0), past(1)), "mill": Happened(past(1))})
    assert (1, "mill") not in shared(started, job("two")).joint


def test_a_job_that_would_wait_for_days_goes_its_own_way() -> None:
    """The second has rested its wood already: the first is not ready to rip for a week."""
    rested = tuple(step for step in job("two").steps if step.key not in ("choose", "mill", "rest"))
    rested = tuple(replace(step, after=tuple(k for k in step.after if k != "rest")) for step in rested)
    assert not shared(job("one"), CalendarJob("two", rested)).joint


def test_other_angles_have_nothing_in_common_at_the_saw() -> None:
    other: Json = bowl(form={"outer": [[0, 47], [40, 71]], "curve": "straight", "inside": {"kind": "solid"}})
    for band in other["bands"]:
        band["segments"] = 16
    joint = shared(job("one"), job("two", other), mixes=False).joint
    assert not [key for _, key in joint if key.startswith(("prove", "cut"))]


# --- on the calendar ----------------------------------------------------------------------------------------------


def planned(*jobs: CalendarJob) -> Calendar:
    found = plan_calendar(jobs, bench(), effort=0.0)
    check(found, jobs, bench())
    return found


def test_the_saw_stays_at_an_angle_until_both_jobs_have_cut_at_it() -> None:
    found = planned(job("one"), job("two"))
    spans = []
    for name in ("one", "two"):
        tasks = by_key(found, name)
        assert tasks["prove.m15.000"].with_jobs
        spans.append((tasks["prove.m15.000"].start, tasks["cut.m15.000"].end))
    first, last = min(start for start, _ in spans), max(end for _, end in spans)
    others = [task for task in found.tasks if SAW in dict(task.step.uses) and "m15.000" not in task.step.key]
    assert not [task for task in others if first < task.end and task.start < last]
    proofs = [by_key(found, name)["prove.m15.000"].end for name in ("one", "two")]
    cuts = [by_key(found, name)["cut.m15.000"].start for name in ("one", "two")]
    assert max(proofs) <= min(cuts)


def test_shared_minutes_are_shorter_on_the_calendar_as_well() -> None:
    found = planned(job("one"), job("two"))
    alone = {step.key: step.minutes for step in job("one").steps}
    both = [by_key(found, name)["prove.m15.000"] for name in ("one", "two")]
    assert sum(task.step.minutes for task in both) == pytest.approx(alone["prove.m15.000"])
    assert len({task.joint for task in both}) == 1


def small(**changes: object) -> Json:
    """Two rings of six: two clamps, and little of a mix."""
    sheet: Json = bowl(form={"outer": [[0, 40], [20, 50]], "curve": "straight", "inside": {"kind": "solid"}})
    for band in sheet["bands"]:
        band |= {"segments": 6, "layers": 1}
    return {**sheet, **changes}


def test_one_mix_does_for_the_rings_of_two_small_jobs() -> None:
    """4 minutes of mixing at each of two sessions; the second glue-up begins as the first is done."""
    jobs = [job("one", small()), job("two", small())]
    both = shared(*jobs)
    mixing = [
        share.minutes for step in jobs[0].steps for share in step.shares if share.operation == "mix adhesive"
    ]
    of_rings = [one.minutes for step in jobs[0].steps for one in step.set_ups if one.machine == MIX]
    assert len(of_rings) == 2
    assert set(of_rings) <= set(mixing)
    assert total(shared(*jobs, mixes=False).jobs) - total(both.jobs) == pytest.approx(
        sum(of_rings), rel=1e-12
    )
    found = planned(*jobs)
    for key in ("p1.half_ring.r1-2", "p1.ring.r1-2"):
        one, two = (by_key(found, name)[key] for name in ("one", "two"))
        if one.joint:
            assert one.end == two.start or two.end == one.start


def test_a_mix_is_not_shared_beyond_its_cup_its_time_or_the_clamps() -> None:
    jobs = [job("one", small()), job("two", small())]
    assert not [key for _, key in shared(*jobs, clamps=3).joint if "ring" in key]
    tight = changed(
        small(), ["shop", "pot_life_min"], 6
    )  # 4.2 minutes are 14 joints; halves have 8 a job, ends 4
    late = shared(job("one", tight), job("two", tight)).joint
    assert not [key for _, key in late if "half_ring" in key]
    assert [key for _, key in late if ".ring" in key]


def test_other_adhesives_are_not_mixed() -> None:
    other = small(adhesive={"kind": "pva"})
    joint = shared(job("one", small()), job("two", other)).joint
    assert not [key for _, key in joint if "ring" in key]


def test_sharing_never_makes_a_job_late() -> None:
    """Alone the first is done in time; together only if the second does not hold it up."""
    due = on(29, 10, 30)
    found = planned(job("one", due=due), job("two"))
    assert found.job("one").late == 0
