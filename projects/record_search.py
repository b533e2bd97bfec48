"""Searching the log by any word: SQLite's FTS5 or PostgreSQL's full text, behind one function.

Both search what `words_kept` has written: words folded to small letters without accents, so that they find alike.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator

from django.db import connections, router
from django.db.models import QuerySet
from django.db.models.expressions import RawSQL

from projects.models.records import PieceRecord, RecordWords

LONGEST_WORD = 60
MOST_WORDS = 12
INDEX = "projects_record_words"
"""The table of SQLite's index; triggers keep it as `projects_recordwords` is. PostgreSQL has one of the same name."""

SQLITE = (
    # The words stand in the table they come from, so that nothing is kept twice.
    f"CREATE VIRTUAL TABLE {INDEX} USING fts5(words, content='projects_recordwords', content_rowid='record_id', "
    "tokenize='unicode61', prefix='2 3')",
    f"CREATE TRIGGER {INDEX}_added AFTER INSERT ON projects_recordwords BEGIN "
    f"INSERT INTO {INDEX}(rowid, words) VALUES (new.record_id, new.words); END",
    f"CREATE TRIGGER {INDEX}_gone AFTER DELETE ON projects_recordwords BEGIN "
    f"INSERT INTO {INDEX}({INDEX}, rowid, words) VALUES ('delete', old.record_id, old.words); END",
    f"CREATE TRIGGER {INDEX}_changed AFTER UPDATE ON projects_recordwords BEGIN "
    f"INSERT INTO {INDEX}({INDEX}, rowid, words) VALUES ('delete', old.record_id, old.words); "
    f"INSERT INTO {INDEX}(rowid, words) VALUES (new.record_id, new.words); END",
)
POSTGRESQL = (
    f"CREATE INDEX {INDEX} ON projects_recordwords USING gin (array_to_tsvector(string_to_array(words, ' ')))",
)


def folded(text: str) -> list[str]:
    """The words of a text as they are searched for: `Épicéa, 12"` as epicea and 12."""
    plain = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    words = re.findall(r"[^\W_]+", plain.casefold())
    return [word[:LONGEST_WORD] for word in words]


def words_kept(record: PieceRecord) -> None:
    """Write the words of a record as they now are, for the search to find it by."""
    words = " ".join(dict.fromkeys(word for text in _texts(record) for word in folded(text)))
    RecordWords.objects.update_or_create(record=record, defaults={"words": words})


def words_kept_many(records: Iterable[PieceRecord]) -> None:
    """Write the words of records that have none yet."""
    rows = []
    for record in records:
        found = dict.fromkeys(word for text in _texts(record) for word in folded(text))
        rows.append(RecordWords(record=record, words=" ".join(found)))
    RecordWords.objects.bulk_create(rows, batch_size=500)


def _texts(record: PieceRecord) -> Iterator[str]:
    yield from (record.serial, record.title, record.form, str(record.year or ""))
    yield from (record.get_place_display(), record.place_words)
    yield from (record.moisture_words, record.adhesive_words, record.boards_words, record.saw_words)
    yield from (record.as_built_words, record.failures, record.repairs, record.lessons)
    # Found by a lot whatever its maker has made of the words since: a bad one is looked for by it.
    for glue in record.known.get("adhesive", []):
        yield from (lot["lot"] for lot in glue.get("lots", []))
    if record.commission is not None:
        yield from (record.commission.title, record.commission.client.name)
    for wood in record.woods.all():
        yield from (wood.name, wood.key, wood.botanical)
    for coat in record.coats.all():
        yield coat.name
    for place in record.places.all():
        yield from (place.holder, place.note)


def search(records: QuerySet[PieceRecord], text: str) -> QuerySet[PieceRecord]:
    """Those records that have every word of a text, each as it stands or as the beginning of a longer one.

    All of them for a text without a word. At most twelve words count.
    """
    words = list(dict.fromkeys(folded(text)))[:MOST_WORDS]
    if not words:
        return records if not text.strip() else records.none()
    if connections[router.db_for_read(PieceRecord)].vendor == "postgresql":
        # Folded words are letters and figures alone, so that nothing in them can be taken for the query's own signs.
        asked = " & ".join(f"'{word}':*" for word in words)
        found = RawSQL(
            "SELECT record_id FROM projects_recordwords "
            "WHERE array_to_tsvector(string_to_array(words, ' ')) @@ %s::tsquery",
            [asked],
        )
    else:
        asked = " ".join(f'"{word}"*' for word in words)
        found = RawSQL(f"SELECT rowid FROM {INDEX} WHERE {INDEX} MATCH %s", [asked])
    return records.filter(pk__in=found)
