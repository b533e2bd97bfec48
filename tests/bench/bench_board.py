"""Times what the drawing board waits for: the drawing alone, and the whole answer. `make bench` runs it."""

import statistics
import time
from collections.abc import Callable, Mapping
from itertools import count
from typing import Any

RUNS = 15
# Sawing a piece that nothing is known of yet takes seconds.
ANSWERS = 2


def median_ms(work: Callable[[], object], *, runs: int = RUNS) -> float:
    """Median of the time by the clock after one run to warm up, ms: it is what a maker waits."""
    work()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1000 * statistics.median(times)


def board_fields(client: Any, path: str) -> dict[str, str]:
    """The fields of a drawing board as its page has them, with one part of 60 layers of 24 segments."""
    from html.parser import HTMLParser

    class Fields(HTMLParser):
        def __init__(self) -> None:
            super().__init__()
            self.found: dict[str, str] = {}
            self.select = ""

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            known = {name: value or "" for name, value in attrs}
            if tag == "input" and known.get("name") and known.get("type") not in ("checkbox", "file"):
                self.found[known["name"]] = known.get("value", "")
            if tag == "select":
                self.select = known.get("name", "")
            if (
                tag == "option"
                and self.select
                and ("selected" in dict(attrs) or self.select not in self.found)
            ):
                self.found[self.select] = known.get("value", "")

    reader = Fields()
    reader.feed(client.get(path).content.decode())
    return reader.found


def vase(studio: Any) -> Any:
    """A vase of 60 layers of 24 segments in two woods, with a smooth curve and a wall."""
    from projects.services.designs import design_create

    form = {"outer": [[0, 60], [90, 100], [200, 80], [300, 110]], "curve": "smooth"}
    form |= {"inside": "wall", "wall": 7, "floor": 10}
    # The foot takes up the allowances above and below.
    high = 300 + float(studio.shop.allowance_top) + float(studio.shop.allowance_bottom)
    bond = float(studio.shop.bond_line)
    thick = round((high - 59 * bond) / 60 + 0.0005, 3)
    band = {"name": "body", "layers": 60, "thickness": thick, "segments": 24, "offsets": [0.5]}
    band |= {"woods": ["maple", "walnut"], "bored": "needed", "plug": "maple"}
    return design_create(studio=studio, title="Vase", parts=[{"name": "body", "form": form, "bands": [band]}])


def timings(client: Any, design: Any) -> Mapping[str, float]:
    """Each question of the board, ms."""
    path = f"/designs/{design.pk}/"
    fields = board_fields(client, path)

    def ask(address: str, holds: bytes, **extra: str) -> Callable[[], object]:
        edits = count()

        def asked() -> object:
            # Each time another edit, so that nothing kept from the one before helps.
            edited = {"parts-0-outer-2-diameter": f"{160 + next(edits) / 10:.1f}"}
            answer = client.post(address, {**fields, **extra, **edited}, headers={"HX-Request": "true"})
            assert answer.status_code == 200, answer.content
            assert holds in answer.content
            return answer

        return asked

    return {
        "drawing": median_ms(ask(f"{path}redraw/", b"<svg")),
        "answer": median_ms(ask(path, b"data-figure", do="try"), runs=ANSWERS),
        "model": median_ms(ask(f"{path}round.glb", b"glTF")),
    }


def main() -> None:
    """Print each timing with its target, on a database of its own."""
    import os

    import django
    from bench_estimate import line

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "turnery.settings")
    django.setup()
    from django.contrib.auth.models import User
    from django.test import Client
    from django.test.utils import get_runner, setup_test_environment

    from django.conf import settings  # isort: skip
    from projects.services.studios import studio_create

    setup_test_environment()
    runner = get_runner(settings)(verbosity=0, interactive=False)
    databases = runner.setup_databases()
    try:
        owner = User.objects.create_user("bench")
        client = Client()
        client.force_login(owner)
        found = timings(client, vase(studio_create(name="Bench", owner=owner)))
    finally:
        runner.teardown_databases(databases)
    print(f"The drawing board, 60 layers x 24 segments: median of {RUNS}, ms by the clock")
    line("the drawing alone", found["drawing"], "< 100", good=found["drawing"] < 100)
    line("the whole answer, with figures and page", found["answer"], "< 1000", good=found["answer"] < 1000)
    line("the model in the round", found["model"], "< 500", good=found["model"] < 500)


if __name__ == "__main__":
    main()
