"""The workings of the weather: every figure they print is the one that was reckoned, from another side where one is."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.estimate import Estimate, estimate
from estimating.report import as_text
from estimating.rooms import Air
from estimating.sheet import read_sheet
from estimating.wood.climate import HUMIDITIES, TEMPERATURES, equilibrium_moisture
from estimating.wood.movement import mismatch
from estimating.wood.weather import OPENS, Movement, worst_way
from estimating.wood.weather_words import joint_working, moisture_working
from tests.estimating.kinds import built, cut, disc, staves, veneer
from tests.estimating.sheets import Json, bowl, changed

DRIER = {"shop": {"temperature_c": 21, "humidity": 45}, "client": {"temperature_c": 22, "humidity": 30}}

WIDE = {"width": 400}


def moving(sheet: Json) -> Movement:
    found: Estimate = estimate(read_sheet(sheet))
    assert found.movement is not None
    return found.movement


def test_the_working_of_a_rooms_moisture_ends_at_the_handbooks_figure() -> None:
    """70 degrees F and 50 % give 9.2 % (Wood Handbook FPL-GTR-282, Table 4-2)."""
    words = " ".join(moisture_working(Air(temperature_c=21.1, humidity=50)))
    assert "eq. 4-5" in words
    printed = re.search(r"= ([\d.]+) %\.", words)
    assert printed is not None
    assert float(printed[1]) == pytest.approx(9.2, abs=0.07)  # the table's own rounding, and the fit's


@given(st.floats(*TEMPERATURES), st.floats(*HUMIDITIES))
def test_the_printed_terms_of_the_equation_add_up_to_the_moisture(
    temperature: float, humidity: float
) -> None:
    words = moisture_working(Air(temperature_c=temperature, humidity=humidity))[2]
    printed = re.search(r"1800 / ([\d.]+) × \((-?[\d.]+) \+ (-?[\d.]+)\) = ([\d.]+) %", words)
    assert printed is not None
    w, dissolved, held, moisture = map(float, printed.groups())
    assert 1800 / w * (dissolved + held) == pytest.approx(moisture, abs=0.006)  # four printed places each
    assert moisture == pytest.approx(
        equilibrium_moisture(temperature_c=temperature, humidity=humidity), abs=0.005
    )


@pytest.mark.parametrize(
    "sheet",
    [
        bowl(),
        built(disc(), cut(), form={"outer": [[0, 60], [22, 60]]}),
        built(cut(), staves(), form={"outer": [[0, 40], [70, 40]]}),
    ],
    ids=["rings", "disc", "staves"],
)
def test_the_two_printed_movements_of_a_joint_part_by_its_mismatch(sheet: Json) -> None:
    movement = moving({**sheet, "climate": DRIER})
    for joint in movement.joints:
        words = joint_working(movement, joint)
        moved = [float(found) for text in words[1:3] for found in re.findall(r"([+-][\d.]+) mm", text)]
        apart = re.search(r"Apart by ([\d.]+) mm", words[-1])
        assert len(moved) == 2
        assert apart is not None
        assert abs(moved[0] - moved[1]) == pytest.approx(float(apart[1]), abs=0.0011)  # three printed places
        assert float(apart[1]) == pytest.approx(joint.held, abs=0.0005)


def test_the_worst_way_of_a_joint_is_its_mismatch_at_that_radius() -> None:
    movement = moving({**bowl(), "climate": DRIER})
    for joint in movement.joints:
        one, other, radius = worst_way(movement.layer(joint.below), movement.layer(joint.above))
        assert mismatch(one, other, outer=radius, inner=radius) == joint.mismatch_most


def test_a_joint_of_a_wood_that_is_not_known_is_not_worked_out() -> None:
    form = {"outer": [[0, 40], [20, 40]]}
    movement = moving(built(cut(), cut(woods=["mesquite"]), form=form, climate=DRIER))
    (joint,) = movement.joints
    assert joint_working(movement, joint) == ("Nothing is published of how one of their woods moves.",)
    assert list(movement.safe_bases) == [wood for layer in movement.layers for wood in layer.woods]


def test_a_joint_of_veneer_names_the_layers_that_pull_at_it() -> None:
    sheet = built(cut(), veneer(), cut(), form={"outer": [[0, 40], [20.6, 40]]}, climate=DRIER)
    movement = moving(sheet)
    assert "layers 1 and 3 pull at this line" in " ".join(joint_working(movement, movement.joints[0]))


def test_joints_at_risk_are_those_past_the_mark_and_a_base_at_its_widest_lies_on_it() -> None:
    sheet = built(disc(), cut(), form={"outer": [[0, 100], [22, 100]]}, climate=DRIER, usual_board=WIDE)
    movement = moving(sheet)
    assert [joint for joint in movement.joints if (joint.held or 0) >= OPENS] == list(movement.at_risk) != []
    widest = movement.moves_most
    assert widest is not None
    assert abs(widest.width_change or 0) == max(abs(layer.width_change or 0) for layer in movement.layers)
    (wood,) = movement.layers[0].woods
    safe = movement.safe_bases[wood]
    assert safe == movement.layers[0].safe_diameter
    assert safe is not None
    half = changed(sheet, ["form", "outer"], [[0, safe / 2 - 0.01], [22, safe / 2 - 0.01]])
    assert abs(moving(half).layers[0].width_change or 0) < 2 * OPENS


def test_the_report_tells_the_weather_with_the_figures_of_the_answer() -> None:
    sheet = built(disc(), cut(), form={"outer": [[0, 100], [22, 100]]}, climate=DRIER, usual_board=WIDE)
    report, movement = as_text(estimate(read_sheet(sheet))), moving(sheet)
    most = movement.moves_most
    assert most is not None
    for said in (
        f"WEATHER: made at {movement.emc_shop:.1f} % moisture, it will live at {movement.emc_client:.1f} %",
        f"Layer 1 moves most: 200.0 mm wide, it shrinks by up to {-(most.width_change or 0):.2f} mm.",
        "Glue lines at risk: between layers 1 and 2.",
        f"{movement.humidity_to_hold:.0f} % humidity in that room",
    ):
        assert said in report
    del sheet["climate"]
    assert "the sheet does not say in what air the piece will live" in as_text(estimate(read_sheet(sheet)))


def test_the_report_names_woods_that_nothing_is_known_of() -> None:
    form = {"outer": [[0, 40], [20, 40]]}
    report = as_text(estimate(read_sheet(built(cut(), cut(woods=["mesquite"]), form=form, climate=DRIER))))
    assert "No shrinkage is known of mesquite." in report
    assert "Glue lines at risk: none that are known." in report
