"""Plugs in their bores and lids in their rims when the air changes, worked out by hand beside the code."""

import pytest

from estimating.estimate import Estimate, estimate
from estimating.sheet import read_sheet
from estimating.wood.fits_weather import lids_of, outwards, plugs_of
from estimating.wood.movement import Free
from tests.estimating.kinds import built, cut
from tests.estimating.sheets import Json, answer
from tests.estimating.test_parts import jar
from tests.estimating.test_weather import DAMPER, strain


def found(sheet: Json) -> Estimate:
    return estimate(read_sheet(sheet))


def test_a_plug_outgrows_a_ring_by_both_their_strains() -> None:
    """The plug grows all round, s r; the ring's middle stays and its inner edge moves in by s (middle - r)."""
    form = {"outer": [[0, 50], [10, 50]]}
    sheet = built(cut(bore=20, plug="maple"), form=form, climate=DAMPER)
    told = answer(sheet)["movement"]
    (plug,) = told["plugs"]
    most = strain("maple", told)
    assert plug["outgrows_most"] == pytest.approx(most * 10 + most * (30 - 10))
    least = strain("maple", told, tangential=False)
    assert plug["outgrows_least"] == pytest.approx(least * 10 + least * (30 - 10))
    assert plug["severity"] == ("danger" if plug["outgrows_most"] >= 0.8 else "warning")


def test_a_disc_moves_out_across_its_grain_and_not_along_it() -> None:
    assert outwards([Free(across=0.02)], radius=30) == (0.0, pytest.approx(0.6))


def test_in_air_that_stays_the_same_plugs_and_lids_fit_as_made() -> None:
    same = {"shop": DAMPER["shop"], "client": DAMPER["shop"]}
    estimated = found({**jar(), "climate": same})
    assert estimated.movement is not None
    (lid,) = lids_of(estimated.shapes, movement=estimated.movement)
    assert lid.gap_least == lid.gap_most == pytest.approx(lid.fit.gap)
    assert not lid.binds
    plugs = plugs_of(estimated.shapes, movement=estimated.movement, woods=estimated.workshop.woods)
    assert all(plug.severity == "none" for plug in plugs)


def test_a_lids_room_spans_what_growth_rings_may_do() -> None:
    told = answer({**jar(), "climate": DAMPER})["movement"]
    (lid,) = told["lids"]
    assert lid["gap_least"] < lid["gap_most"]
    assert (lid["part"], lid["in"]) == ("lid", "body")


def test_a_plug_of_a_wood_that_is_not_known_is_not_reckoned() -> None:
    sheet = built(cut(bore=20, plug="mesquite"), form={"outer": [[0, 50], [10, 50]]}, climate=DAMPER)
    (plug,) = answer(sheet)["movement"]["plugs"]
    assert (plug["outgrows_most"], plug["severity"]) == (None, "unknown")
