"""Cautions of the weather: what is told, with which way out, and what is not told."""

from tests.estimating.kinds import built, cut, disc, staves
from tests.estimating.sheets import Json, answer
from tests.estimating.test_weather import DAMPER, DRIER, OPEN, WIDE, weather

CODES = ("solid_beside_ring", "joint_slides", "ring_strained", "movement_unknown")


def told(sheet: Json) -> dict[str, Json]:
    return {caution["code"]: caution for caution in answer(sheet)["cautions"] if caution["code"] in CODES}


BASE = built(
    disc(woods=["maple"]),
    cut(layers=2, woods=["maple"]),
    form={"outer": [[0, 60], [32, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 12}},
    usual_board=WIDE,
)


def test_a_wide_solid_base_under_rings_is_told_with_the_widest_that_is_safe_and_the_ways_out() -> None:
    found = told({**BASE, "climate": DRIER})
    assert set(found) == {"solid_beside_ring"}
    caution = found["solid_beside_ring"]
    layer = weather({**BASE, "climate": DRIER})["layers"][0]
    assert (caution["severity"], caution["where"]) == ("warning", "bands[0]")
    assert "Layer 1 is a solid disc 120 mm across, glued to layer 2" in caution["message"]
    assert f"up to {int(layer['safe_diameter'])} mm across" in caution["message"]
    assert "build it from segments, or let a solid panel float" in caution["message"]
    assert told({**BASE, "climate": DAMPER})["solid_beside_ring"]["severity"] == "danger"


def test_a_small_solid_base_and_a_piece_that_stays_where_it_is_are_told_nothing() -> None:
    small = built(
        disc(woods=["maple"]),
        cut(layers=2, woods=["maple"]),
        form={"outer": [[0, 30], [32, 30]], "inside": {"kind": "wall", "wall": 8, "floor": 12}},
        climate=DRIER,
    )
    assert not told(small)
    assert not told({**BASE, "climate": {"shop": DRIER["shop"], "client": DRIER["shop"]}})
    assert not told(BASE)


def test_staves_on_rings_and_crossed_discs_are_told_with_their_own_ways_out() -> None:
    form = {"outer": [[0, 80], [80, 80]], "inside": OPEN}
    found = told(built(cut(layers=2), staves(), form=form, climate=DAMPER))
    assert "layers 2 and 3 move apart" in found["joint_slides"]["message"]
    assert "a loose or floating joint" in found["joint_slides"]["message"]
    assert found["joint_slides"]["where"] == "bands[1]"
    crossed = built(
        disc(layers=2, offset=0.25), form={"outer": [[0, 60], [24, 60]]}, climate=DAMPER, usual_board=WIDE
    )
    assert "grain the same way" in told(crossed)["joint_slides"]["message"]


def test_wide_rings_and_unknown_woods_are_told() -> None:
    wide = built(cut(layers=2), form={"outer": [[0, 80], [20, 80]]}, climate=DRIER)
    assert "Layers 1 to 2 are wide for the change of moisture" in told(wide)["ring_strained"]["message"]
    unknown = told(
        built(
            cut(layers=2, woods=["mesquite"]),
            form={"outer": [[0, 60], [20, 60]], "inside": OPEN},
            climate=DRIER,
        )
    )
    assert "The shrinkage of honey mesquite is not known here" in unknown["movement_unknown"]["message"]
