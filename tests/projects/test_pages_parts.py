"""Parts on the drawing board: every field of theirs works, is refused where it is wrong, and stays as it was typed."""

import re
from typing import Any

import pytest
from django.test import Client as Browser

from projects.estimates import estimate_design, parts_of, sheet_data
from projects.models import Design, Studio
from projects.pages.draft import saved, typed
from projects.pages.edits import edit
from projects.pages.reading import read
from projects.services.designs import design_create
from tests.factories import DesignFactory
from tests.projects.boards import HTMX, fields

WALL = {"inside": "wall", "wall": 7, "floor": 8}
HOLD = {"held": "tenon", "held_depth": 6, "held_parting": 3, "close_at": [50], "build_from": "rim"}
BODY = {
    "name": "body",
    "allowance_top": 0,
    **HOLD,
    "form": {
        "outer": [[0, 30], [50, 62, "corner"], [100, 40]],
        "curve": "smooth",
        "inside": "curve",
        "inner": [[10, 0], [50, 54, "corner"], [100, 32]],
    },
    "bands": [
        {"name": "foot", "layers": 1, "thickness": 12, "made": "solid", "woods": ["walnut"]}
        | {"bored": "set", "bore": 12, "plug": "maple"},
        {"name": "chart", "layers": 4, "thickness": 12, "segments": 12}
        | {"chart": {"legend": {"m": "maple", "w": "walnut"}, "rows": ["mw", "wm", "mw", "mmww"]}},
        {"name": "line", "layers": 1, "thickness": 0.6, "made": "veneer", "woods": ["maple"]},
        {"name": "feature", "layers": 1, "thickness": 20.16, "segments": 12, "woods": ["zig"]},
        {
            "name": "rim",
            "layers": 2,
            "thickness": 13.8,
            "segments": 12,
            "woods": ["walnut"],
            "bored": "needed",
        },
    ],
}
LID = {
    "name": "lid",
    "sits": "in",
    "sits_at": 1,
    "flange": 6,
    "clearance": 0.4,
    "allowance_top": 0,
    "allowance_bottom": 0,
    "form": {"outer": [[0, 31.5], [6, 31.6], [14, 30]], "inside": "solid"},
    "bands": [{"layers": 1, "thickness": 14, "made": "solid", "woods": ["walnut"]}],
}
FINIAL = {
    "name": "finial",
    "sits": "on",
    "sits_at": 2,
    "allowance_top": 0,
    "allowance_bottom": 0,
    "form": {"outer": [[0, 12], [24, 8]], "inside": "solid"},
    "bands": [{"layers": 2, "thickness": 11.96, "made": "solid", "woods": ["maple"]}],
}
ZIG = {
    "kind": "zigzag",
    "angle": 45,
    "strips": [{"wood": "maple", "width": 26}, {"wood": "walnut", "width": 15.5}],
}


@pytest.fixture
def vase(studio: Studio) -> Design:
    """A lidded vase of three parts, with a band of nearly every kind."""
    return design_create(
        studio=studio, title="Lidded vase", laminates={"zig": ZIG}, parts=[BODY, LID, FINIAL]
    )


def _records(design: Design) -> Any:
    """Everything of a design's parts but the keys of its rows."""
    leave_out = {"id", "design", "part", "_state"}

    def plain(row: Any) -> dict[str, Any]:
        return {f.name: getattr(row, f.name) for f in row._meta.concrete_fields if f.name not in leave_out}

    return [
        (plain(one.part), plain(one.form), [plain(band) for band in one.bands]) for one in parts_of(design)
    ]


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_lidded_vase_saved_and_opened_again_is_unchanged(
    as_alice: Browser, studio: Studio, vase: Design, unit: str
) -> None:
    studio.length_unit = unit
    studio.save()
    vase.refresh_from_db()
    before, sheet = _records(vase), sheet_data(vase)
    sent = fields(saved(vase, studio=studio))
    answer = as_alice.post(f"/designs/{vase.pk}/", {**sent, "do": "save"}, **HTMX)
    assert answer.context["board"].just_saved, answer.context["draft"].errors
    fresh = Design.objects.get(pk=vase.pk)
    assert (fresh.revision, fresh.laminates) == (2, {"zig": ZIG})
    assert _records(fresh) == before
    assert sheet_data(fresh) == sheet
    assert fields(saved(fresh, studio=studio)) == sent | {"revision": "2"}


def test_a_lidded_vase_works_out_and_shows_its_parts(as_alice: Browser, vase: Design) -> None:
    page = as_alice.get(f"/designs/{vase.pk}/")
    assert page.context["draft"].errors == {}
    text = page.content.decode()
    for number, name in enumerate(("body", "lid", "finial")):
        assert f'id="part-{number}" value="{number}"' in text
        assert f"<span>{name}</span>" in text
    _, estimate = estimate_design(vase)
    assert len(estimate.shapes) == 3
    for address in (f"/designs/{vase.pk}/estimate/", "/designs/"):
        assert as_alice.get(address).status_code == 200


def test_the_board_of_several_parts_shows_the_part_looked_at_and_the_whole(
    as_alice: Browser, vase: Design
) -> None:
    page = as_alice.get(f"/designs/{vase.pk}/").content.decode()
    (whole,) = re.findall(r'<figure class="sheet whole">(.*?)</figure>', page, re.S)
    _, estimate = estimate_design(vase)
    layers = {int(layer) for layer in re.findall(r'data-layer="(\d+)"', whole)}
    assert max(layers) == estimate.layers
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_the_board_of_one_part_shows_it_once(as_alice: Browser, studio: Studio) -> None:
    page = as_alice.get(f"/designs/{DesignFactory(studio=studio).pk}/").content.decode()
    assert page.count('<figure class="sheet') == 1


def test_a_sheet_of_several_parts_names_them_and_says_only_what_is_used(vase: Design) -> None:
    sheet = sheet_data(vase)
    body, lid, finial = sheet["parts"]
    assert "form" not in sheet
    assert [part["name"] for part in sheet["parts"]] == ["body", "lid", "finial"]
    assert body["holding"] == {"by": "tenon", "depth": 6, "parting": 3}
    assert (body["close_at"], body["build_from"]) == ([50], "rim")
    assert "build_from" not in lid
    assert set(body["allowance"]) == {"outside", "inside", "top"}  # what is below comes from the hold
    assert body["form"]["outer"][1] == [50, 62, "corner"]
    assert "sits" not in body
    assert (lid["sits"], finial["sits"]) == ({"in": "body", "flange": 6, "clearance": 0.4}, {"on": "lid"})
    foot, chart, line, feature, rim = body["bands"]
    assert (foot["bore"], foot["plug"]) == (12, "maple")
    assert not {"segments", "gap", "ring_height"} & set(foot)
    assert chart["chart"]["rows"][3] == "mmww"
    assert "woods" not in chart
    assert (line["made"], feature["woods"], rim["bore"]) == ("veneer", ["zig"], "auto")
    assert not {"bore", "plug", "chart"} & set(feature)
    assert sheet["laminates"] == {"zig": ZIG}


def test_a_plain_design_has_no_key_of_parts_in_its_sheet(studio: Studio) -> None:
    sheet = sheet_data(DesignFactory(studio=studio))
    assert not {"parts", "holding", "close_at", "build_from", "laminates", "sits"} & set(sheet)
    assert not {"bore", "plug", "chart"} & set(sheet["bands"][0])


def test_woods_of_plugs_charts_and_laminates_bring_their_boards(studio: Studio, vase: Design) -> None:
    from tests.factories import BoardFactory, WoodFactory

    for key in ("holly", "cherry", "ash"):
        BoardFactory(wood=WoodFactory(studio=studio, key=key))
    assert "boards" not in sheet_data(vase)
    body = vase.parts.get(position=1)
    body.bands.filter(position=1).update(plug="holly")
    body.bands.filter(position=2).update(chart={"legend": {"c": "cherry", "x": "oak"}, "rows": ["c"] * 4})
    strips = [{"wood": "ash", "width": 6}]
    vase.laminates = {"zig": ZIG | {"strips": strips}}
    assert {board["wood"] for board in sheet_data(vase)["boards"]} == {"holly", "cherry", "ash"}


WORKS = [
    ("parts-0-held", {"parts-0-held": "recess", "parts-0-held_depth": "5"}, ("held", "recess")),
    (
        "parts-0-held_depth",
        {"parts-0-held": "tenon", "parts-0-held_depth": "1/4 in", "parts-0-held_parting": "2"},
        ("held_depth", 6.35),
    ),
    (
        "parts-0-held_parting",
        {"parts-0-held": "waste_block", "parts-0-held_parting": "3"},
        ("held_parting", 3),
    ),
    ("parts-0-close_at", {"parts-0-close_at": "40, 2 in"}, ("close_at", [40, 50.8])),
    ("parts-0-build_from", {"parts-0-build_from": "rim"}, ("build_from", "rim")),
    ("parts-0-name", {"parts-0-name": "belly"}, ("name", "belly")),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("field", "change", "kept"), WORKS, ids=[field for field, _, _ in WORKS])
def test_a_field_of_a_part_is_saved(
    as_alice: Browser, studio: Studio, field: str, change: dict[str, str], kept: tuple[str, Any]
) -> None:
    design = DesignFactory(studio=studio)
    sent = fields(saved(design, studio=studio))
    as_alice.post(f"/designs/{design.pk}/", {**sent, **change, "do": "save"}, **HTMX)
    part = Design.objects.get().parts.get()
    value = getattr(part, kept[0])
    assert (float(value) if kept[0].startswith("held_") else value) == kept[1]
    page = as_alice.get(f"/designs/{design.pk}/").content.decode()
    assert f'name="{field}"' in page


BAND_WORKS: list[tuple[dict[str, str], dict[str, Any]]] = [
    ({"made": "solid", "wood-1": ""}, {"made": "solid", "segments": None, "woods": ["maple"]}),
    ({"made": "veneer", "wood-1": ""}, {"made": "veneer", "segments": None}),
    (
        {"made": "staves", "layers": "7", "gap": "9"},
        {"made": "staves", "layers": 1, "gap": 0, "segments": 12},
    ),
    ({"bored": "needed", "plug": "walnut"}, {"bored": "needed", "plug": "walnut", "bore": None}),
    ({"bored": "set", "bore": "1 in"}, {"bored": "set", "plug": ""}),
    ({"bored": "", "plug": "walnut"}, {"bored": "", "plug": ""}),
    (
        {"chart": '{"legend": {"m": "maple"}, "rows": ["mm"]}'},
        {"chart": {"legend": {"m": "maple"}, "rows": ["mm"]}},
    ),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("change", "kept"), BAND_WORKS, ids=[str(change) for change, _ in BAND_WORKS])
def test_a_field_of_a_band_is_saved(
    as_alice: Browser, studio: Studio, change: dict[str, str], kept: dict[str, Any]
) -> None:
    design = DesignFactory(studio=studio)
    sent = fields(saved(design, studio=studio))
    sent |= {f"parts-0-bands-0-{key}": text for key, text in change.items()}
    answer = as_alice.post(f"/designs/{design.pk}/", {**sent, "do": "save"}, **HTMX)
    assert answer.context["board"].just_saved, answer.context["draft"].errors
    band = Design.objects.get().parts.get().bands.get()
    assert {key: getattr(band, key) for key in kept} == kept


WRONG = [
    ({"parts-0-name": " "}, "parts-0-name", "Give the part a name."),
    ({"parts-1-name": "body"}, "parts-1-name", "Another part has this name already."),
    ({"parts-0-held": "glue"}, "parts-0-held", "Choose one of those offered."),
    ({"parts-0-build_from": "side"}, "parts-0-build_from", "Choose one of those offered."),
    ({"parts-0-held_depth": ""}, "parts-0-held_depth", "is empty"),
    ({"parts-0-held_depth": "0"}, "parts-0-held_depth", "more than 0"),
    ({"parts-0-held_parting": "wide"}, "parts-0-held_parting", "is not a length"),
    ({"parts-0-close_at": "50, half"}, "parts-0-close_at", "is not a length"),
    ({"parts-1-sits": "under"}, "parts-1-sits", "Choose one of those offered."),
    ({"parts-1-sits_at": "2"}, "parts-1-sits_at", "Choose one of the other parts."),
    ({"parts-1-sits_at": "9" * 400}, "parts-1-sits_at", "Choose one of the other parts."),
    ({"parts-1-flange": "0"}, "parts-1-flange", "more than 0"),
    ({"parts-1-clearance": "-1"}, "parts-1-clearance", "cannot be negative"),
    ({"parts-0-bands-1-chart": "{"}, "parts-0-bands-1-chart", "cannot be read"),
    ({"parts-0-bands-1-chart": "[" * 100_000}, "parts-0-bands-1-chart", "cannot be read"),
    ({"parts-0-bands-1-chart": '{"legend": {}, "rows": ["m"]}'}, "parts-0-bands-1-chart", "legend"),
    (
        {"parts-0-bands-1-chart": '{"legend": {"m": "maple"}, "rows": ["x"]}'},
        "parts-0-bands-1-chart",
        "not in its legend",
    ),
    ({"parts-0-bands-0-bore": ""}, "parts-0-bands-0-bore", "is empty"),
    ({"parts-0-bands-1-match": "twins"}, "parts-0-bands-1-match", "Choose one of those offered."),
    ({"parts-0-bands-0-bored": "often"}, "parts-0-bands-0-bored", "Choose one of those offered."),
    ({"laminates-0-key": "Zig Zag"}, "laminates-0-key", "lower-case"),
    ({"laminates-0-angle": "91"}, "laminates-0-angle", "from 0 to 90"),
    ({"laminates-0-kind": "plaid"}, "laminates-0-kind", "Choose one of those offered."),
    ({"laminates-0-strip-0-width": "0"}, "laminates-0-strip-0-width", "more than 0"),
    ({"laminates-0-strip-0-wood": ""}, "laminates-0-strip-0-wood", "Choose the strip's wood."),
    ({"laminates-0-strips": "0"}, "laminates-0-strips", "at least one strip"),
]


@pytest.mark.parametrize(
    ("change", "field", "message"), WRONG, ids=[str(change)[:60] for change, _, _ in WRONG]
)
def test_what_is_wrong_is_said_at_its_field_and_nothing_is_saved(
    as_alice: Browser, studio: Studio, vase: Design, change: dict[str, str], field: str, message: str
) -> None:
    sent = fields(saved(vase, studio=studio)) | change
    answer = as_alice.post(f"/designs/{vase.pk}/", {**sent, "do": "show"}, **HTMX)
    errors = answer.context["draft"].errors
    assert message in " ".join(errors.get(field, [])), errors
    page = answer.content.decode()
    assert f'id="{field}-error"' in page
    as_alice.post(f"/designs/{vase.pk}/", {**sent, "do": "save"}, **HTMX)
    assert Design.objects.get().revision == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"parts-0-bands-0-plug": "moonwood"}, "parts-0-bands-0-plug"),
        ({"parts-0-bands-1-chart": '{"legend": {"m": "moonwood"}, "rows": ["m"]}'}, "parts-0-bands-1-chart"),
        ({"laminates-0-strip-0-wood": "moonwood"}, "laminates"),
        ({"laminates-0-key": "maple"}, "laminates"),
    ],
)
def test_a_wood_that_the_studio_has_not_is_refused_where_it_is_named(
    as_alice: Browser, studio: Studio, vase: Design, change: dict[str, str], field: str
) -> None:
    sent = fields(saved(vase, studio=studio)) | change
    answer = as_alice.post(f"/designs/{vase.pk}/", {**sent, "do": "save"}, **HTMX)
    assert field in answer.context["draft"].errors
    assert Design.objects.get().revision == 1


def test_without_scripts_the_part_that_is_wrong_is_the_one_shown(
    as_alice: Browser, studio: Studio, vase: Design
) -> None:
    sent = fields(saved(vase, studio=studio)) | {"part": "0", "parts-2-name": "", "do": "save"}
    answer = as_alice.post(f"/designs/{vase.pk}/", sent)
    assert (answer.status_code, answer.context["draft"].shown) == (400, 2)
    assert 'id="part-2" value="2" checked' in answer.content.decode()
    with_scripts = as_alice.post(f"/designs/{vase.pk}/", sent, **HTMX)
    assert with_scripts.context["draft"].shown == 0


def test_an_outsider_reaches_no_part_and_no_profile(
    as_charlie: Browser, studio: Studio, vase: Design
) -> None:
    sent = fields(saved(vase, studio=studio))
    for what in ("save", "new-part", "parts-0-lay", "parts-0-resize", "parts-0-profile", "parts-copy-0"):
        assert as_charlie.post(f"/designs/{vase.pk}/", {**sent, "do": what}, **HTMX).status_code == 404
    assert as_charlie.get(f"/designs/{vase.pk}/parts/1/profile.svg").status_code == 404
    assert Design.objects.get().revision == 1


def test_the_name_of_a_part_is_shown_escaped(as_alice: Browser, studio: Studio, vase: Design) -> None:
    vase.parts.filter(position=1).update(name="<i>belly</i>")
    vase.parts.get(position=1).bands.filter(position=2).update(
        chart={"legend": {"'": "maple"}, "rows": ["'"]}
    )
    page = as_alice.get(f"/designs/{vase.pk}/").content.decode()
    assert "<i>belly" not in page
    assert "&lt;i&gt;belly&lt;/i&gt;" in page
    assert "&quot;legend&quot;:{&quot;&#x27;&quot;" in page


def test_parts_are_copied_moved_and_removed_and_stand_where_they_stood(studio: Studio, vase: Design) -> None:
    draft = saved(vase, studio=studio)

    def stands() -> list[tuple[str, str, str]]:
        names = [part.name for part in draft.parts]
        return [
            (
                part.name,
                part.texts["sits"],
                names[int(part.texts["sits_at"]) - 1] if part.texts["sits"] else "",
            )
            for part in draft.parts
        ]

    edit(draft, "parts-copy-1")
    assert stands() == [
        ("body", "", ""),
        ("lid", "in", "body"),
        ("lid 2", "in", "body"),
        ("finial", "on", "lid"),
    ]
    assert draft.shown == 2
    edit(draft, "parts-down-1")
    assert stands()[:2] == [("lid", "in", "body"), ("body", "", "")]
    assert ("finial", "on", "lid") in stands()
    edit(draft, "parts-remove-0")
    assert stands() == [("body", "", ""), ("lid 2", "in", "body"), ("finial", "", "")]
    for _ in range(3):
        edit(draft, "parts-remove-0")
    assert len(draft.parts) == 1  # a design keeps its last one


@pytest.mark.django_db
def test_a_part_of_a_ready_form_is_added_on_top_and_works_out(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    sent = fields(saved(design, studio=studio))
    new = {"new-shape": "finial", "new-height": "40", "new-diameter": "20", "new-wall": "2"}
    answer = as_alice.post(f"/designs/{design.pk}/", {**sent, **new, "do": "new-part"}, **HTMX)
    draft = answer.context["draft"]
    assert (len(draft.parts), draft.shown) == (2, 1)
    assert (draft.parts[1].name, draft.parts[1].texts["sits"], draft.parts[1].texts["sits_at"]) == (
        "part",
        "on",
        "1",
    )
    assert read(typed(fields(draft)), studio=studio) is not None
    for wrong in ({"new-height": ""}, {"new-height": "9999"}, {"new-shape": "teapot"}):
        answer = as_alice.post(f"/designs/{design.pk}/", {**sent, **new, **wrong, "do": "new-part"}, **HTMX)
        assert len(answer.context["draft"].parts) == 1
        assert set(answer.context["draft"].errors) == set(wrong)
    empty = as_alice.post(f"/designs/{design.pk}/", {**sent, "do": "new-part"}, **HTMX).context["draft"]
    assert (len(empty.parts), empty.parts[1].bands) == (2, [])
