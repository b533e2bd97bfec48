"""The log at 10,000 pieces and 30,000 photos: processor time of its first pages, and the ratio to one of 100 pieces."""

import datetime
import os
import random
import statistics
import tempfile
import time
from collections.abc import Callable
from decimal import Decimal

FOLDER = tempfile.TemporaryDirectory()
os.environ["DJANGO_SETTINGS_MODULE"] = "turnery.settings"
# A database of its own, unless one is named for it.
os.environ["DATABASE_URL"] = os.environ.get("BENCH_DATABASE_URL", f"sqlite:///{FOLDER.name}/bench.sqlite3")
os.environ["DEBUG"] = ""

import django  # noqa: E402

django.setup()

from django.contrib.auth.models import User  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.test import Client as Browser  # noqa: E402

from projects.models import Client, PieceRecord, Place, RecordPhoto, RecordWood, Studio  # noqa: E402
from projects.record_search import words_kept_many  # noqa: E402
from projects.services.studios import client_create, studio_create  # noqa: E402

RUNS = 15
MANY, FEW = 10_000, 100
PHOTOS_EACH = 3
PAGES = {
    "/log/": "the pictures",
    "/log/table/": "the table",
    "/log/?q=walnut+harb": "the pictures, two words searched for",
    "/log/?q=2019&wood=black+walnut&place=sold&price_from=500": "a word and three filters",
    "/log/table/?sort=largest": "the table by size",
    "/log/?page=200": "the 200th page of pictures",
}
FORMS = ("bowl", "vase", "platter", "hollow form", "lidded jar")
TITLES = ("Harbour", "Reed", "Tide", "Lantern", "Orchard", "Ember", "Compass", "Winter")


def filled(name: str, count: int) -> Browser:
    """A studio with so many pieces, three photos and three woods each; a browser that is logged in to it."""
    owner = User.objects.create_user(name)
    studio = studio_create(name=name, owner=owner)
    gallery = client_create(studio=studio, kind="gallery", name="Lantern Row")
    draw = random.Random(count)
    records = PieceRecord.objects.bulk_create(
        [piece(studio, number, draw) for number in range(count)], batch_size=1000
    )
    woods = list(studio.woods.all())
    rows = [
        RecordWood(
            record=record,
            position=at,
            key=wood.key,
            name=wood.name,
            botanical=wood.botanical,
            colour=wood.colour,
        )
        for record in records
        for at, wood in enumerate(draw.sample(woods, 3), start=1)
    ]
    RecordWood.objects.bulk_create(rows, batch_size=1000)
    photos = [photo(record, at) for record in records for at in range(1, PHOTOS_EACH + 1)]
    RecordPhoto.objects.bulk_create(photos, batch_size=1000)
    Place.objects.bulk_create([place(record, gallery) for record in records], batch_size=1000)
    of_it = PieceRecord.objects.for_studio(studio).prefetch_related("woods", "coats", "places__client")
    words_kept_many(of_it)
    browser = Browser()
    browser.force_login(owner)
    return browser


def piece(studio: Studio, number: int, draw: random.Random) -> PieceRecord:
    """One piece."""
    day = datetime.date(draw.randint(1996, 2025), draw.randint(1, 12), draw.randint(1, 28))
    size, form = Decimal(draw.randint(60, 500)), draw.choice(FORMS)
    return PieceRecord(
        studio=studio,
        serial=f"{day.year}-{number:05}",
        title=f"{draw.choice(TITLES)} {form}",
        form=form,
        made_on=day,
        year=day.year,
        height=size,
        diameter=size / 2,
        size=size,
        price=Decimal(draw.randint(80, 4000)),
        currency="USD",
        place=draw.choice(("studio", "consigned", "sold", "sold", "given")),
        care="Keep it dry. " * 20,
        lessons="Sand the slices before stacking. " * 10,
    )


def photo(record: PieceRecord, at: int) -> RecordPhoto:
    """A row of a photo; no page of the log opens its file."""
    return RecordPhoto(
        record=record,
        position=at,
        chosen=at == 1,
        shown=f"records/{record.pk}/{at}.jpg",
        small_width=720,
        small_height=540,
    )


def place(record: PieceRecord, gallery: Client) -> Place:
    """Where it is."""
    return Place(record=record, kind=record.place, since=record.made_on, client=gallery)


def median_ms(work: Callable[[], object]) -> tuple[float, float]:
    """Medians of so many runs after one to warm up, ms: of this process's time, and by the clock."""
    work()
    used, passed = [], []
    for _ in range(RUNS):
        start, began = time.process_time(), time.perf_counter()
        work()
        used.append(time.process_time() - start)
        passed.append(time.perf_counter() - began)
    return 1000 * statistics.median(used), 1000 * statistics.median(passed)


def shown_ms(browser: Browser, page: str) -> tuple[float, float]:
    """A page as it is asked for and answered whole."""

    def show() -> None:
        assert browser.get(page, headers={"host": "localhost"}).status_code == 200

    return median_ms(show)


def main() -> None:
    """Print each page's time beside its target."""
    call_command("migrate", verbosity=0)
    few, many = filled("few", FEW), filled("many", MANY)
    print(f"The log at {MANY:,} pieces and {MANY * PHOTOS_EACH:,} photos: median of {RUNS} whole answers")
    print(f"{'':<46} {'ms of processor':>15} {'ms by the clock':>15} {'times 100 pieces':>17}")
    for page, words in PAGES.items():
        used, passed = shown_ms(many, page)
        ratio = used / shown_ms(few, page)[0]
        met = "met" if used < 200 else "MISSED"
        print(f"{words:<46} {used:>15.1f} {passed:>15.1f} {ratio:>17.1f}  < 200 ms {met}")


if __name__ == "__main__":
    main()
