"""One write, one function: what it makes, what it refuses, and that a refusal changes nothing."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from estimating.wood.species import published_species
from estimating.work.labour import standing_rates
from projects.models import Band, Board, Client, Commission, Design, HoursEntry, Studio, Wood
from projects.models.commissions import Stage
from projects.services import commissions, designs, hours, rack, shop, studios
from tests.factories import (
    AdhesiveFactory,
    BoardFactory,
    ClientFactory,
    CommissionFactory,
    DesignFactory,
    MemberFactory,
    RateFactory,
    UserFactory,
    WoodFactory,
)

pytestmark = pytest.mark.django_db

FORM = {"outer": [[0, 40], [60, 60]], "inside": "wall", "wall": "6", "floor": "8"}
BAND = {"layers": 6, "thickness": "10", "segments": 12, "woods": ["maple"]}


def _part(*bands: dict[str, Any], form: dict[str, Any] = FORM, **values: Any) -> dict[str, Any]:
    """A part as the service takes it, of one band where none is given."""
    return {"form": form, "bands": list(bands) or [BAND], **values}


# ---- studio


def test_a_new_studio_has_every_published_wood_and_rate_and_all_it_needs() -> None:
    owner = UserFactory()
    studio = studios.studio_create(name="Fern Gully", owner=owner, currency="EUR", length_unit="in")
    assert set(studio.woods.values_list("key", flat=True)) == set(published_species())
    assert list(studio.rates.values_list("operation", flat=True)) == list(standing_rates())
    walnut, published = studio.woods.get(key="walnut"), published_species()["walnut"]
    assert float(walnut.density) == pytest.approx(published.density, abs=0.05)  # kept to 0.1 kg/m3
    assert float(walnut.shrink_radial_pct) == published.shrink_radial_pct
    assert (walnut.source, walnut.from_memory) == (published.source, published.from_memory)
    assert studio.adhesives.get(usual=True).kind == "epoxy"
    assert not studio.adhesives.filter(label_read=True).exists()
    assert set(studio.adhesives.values_list("kind", flat=True)) == {"epoxy", "pva", "polyurethane", "ca"}
    for adhesive in studio.adhesives.all():
        adhesive.full_clean()
        assert "label" in adhesive.note
    assert "fire" in studio.finishes.get(usual=True).caution
    assert (owner.member.studio, owner.member.role) == (studio, "owner")
    for row in (studio, studio.shop, studio.pricing, *studio.woods.all(), *studio.rates.all()):
        row.full_clean()


def test_a_new_shop_has_the_usual_settings_of_the_published_table() -> None:
    """Figures of tables/shop_defaults.csv: common practice, no source."""
    studio = studios.studio_create(name="Fern Gully", owner=UserFactory())
    shop_settings, pricing = studio.shop, studio.pricing
    shop_settings.refresh_from_db()
    pricing.refresh_from_db()
    assert (shop_settings.rip_kerf, shop_settings.crosscut_kerf) == (Decimal(3), Decimal("2.8"))
    assert (shop_settings.bond_line, shop_settings.spare_segments) == (Decimal("0.08"), Decimal("0.05"))
    assert (shop_settings.keep_length, shop_settings.keep_width) == (300, 40)
    assert shop_settings.layers_per_glue_up == 10
    assert (pricing.labour_rate, pricing.overhead_rate, pricing.consumables_rate) == (35, 12, Decimal("1.5"))
    assert (pricing.margin, pricing.gallery_share) == (Decimal("0.15"), Decimal("0.45"))
    assert (pricing.deposit_share, pricing.failure_share) == (Decimal("0.5"), Decimal("0.03"))


def test_a_studio_that_is_refused_leaves_nothing_behind() -> None:
    with pytest.raises(ValidationError) as refusal:
        studios.studio_create(name="Fern Gully", owner=UserFactory(), currency="ABC")
    assert list(refusal.value.message_dict) == ["currency"]
    owner = MemberFactory().user
    before = Studio.objects.count()
    with pytest.raises(ValidationError):
        studios.studio_create(name="A second studio", owner=owner)
    assert Studio.objects.count() == before


def test_a_service_takes_no_field_that_a_form_may_not_set(studio: Studio, other_studio: Studio) -> None:
    client = ClientFactory(studio=studio)
    for name, value in {"studio": other_studio, "id": 7, "nonsense": 1}.items():
        with pytest.raises(TypeError, match=name):
            studios.client_update(client=client, **{name: value})
    with pytest.raises(TypeError, match="quote_count"):
        studios.studio_update(studio=studio, quote_count=0)


def test_a_client_with_commissions_stays_on_the_list(studio: Studio) -> None:
    client = CommissionFactory(studio=studio).client
    with pytest.raises(ValidationError, match="has commissions"):
        studios.client_delete(client=client)
    spare = ClientFactory(studio=studio)
    studios.client_delete(client=spare)
    assert list(Client.objects.for_studio(studio)) == [client]


# ---- shop


def test_a_wood_that_a_design_names_keeps_its_key_and_its_place(studio: Studio) -> None:
    DesignFactory(studio=studio, title="Pot")
    maple = studio.woods.get(key="maple")
    with pytest.raises(ValidationError) as refusal:
        shop.wood_update(wood=maple, key="ahorn")
    assert list(refusal.value.message_dict) == ["key"]
    maple.refresh_from_db()
    with pytest.raises(ValidationError, match="part of Pot"):
        shop.wood_delete(wood=maple)
    shop.wood_update(wood=maple, name="rock maple")
    assert Wood.objects.for_studio(studio).get(key="maple").name == "rock maple"


def test_a_wood_no_one_uses_may_change_its_key_or_go(studio: Studio) -> None:
    holly = WoodFactory(studio=studio, key="holly")
    shop.wood_update(wood=holly, key="ilex")
    shop.wood_delete(wood=holly)
    assert not Wood.objects.for_studio(studio).filter(key="ilex").exists()


def test_a_wood_that_lies_or_has_lain_on_the_rack_stays(studio: Studio) -> None:
    """The history of its boards is kept, and names it."""
    board = BoardFactory(wood=WoodFactory(studio=studio, key="holly"))
    with pytest.raises(ValidationError, match="rack"):
        shop.wood_delete(wood=board.wood)
    rack.board_delete(board=board)
    with pytest.raises(ValidationError, match="have lain there"):
        shop.wood_delete(wood=board.wood)
    shop.wood_update(wood=board.wood, active=False)


def test_boards_are_of_the_studios_own_woods(studio: Studio, other_studio: Studio) -> None:
    theirs = other_studio.woods.get(key="maple")
    size = {"length": 1200, "width": 150, "thickness": 25}
    with pytest.raises(ValidationError) as refusal:
        rack.board_create(studio=studio, wood=theirs, **size)
    assert list(refusal.value.message_dict) == ["wood"]
    own = rack.board_create(studio=studio, wood=studio.woods.get(key="maple"), **size)
    with pytest.raises(ValidationError):
        rack.board_update(board=own, wood=theirs)
    assert Board.objects.get().wood.studio == studio


def test_a_new_usual_adhesive_replaces_the_former_and_one_always_remains(studio: Studio) -> None:
    former = studio.adhesives.get(usual=True)
    second = AdhesiveFactory(studio=studio)
    shop.adhesive_update(adhesive=second, usual=True)
    former.refresh_from_db()
    assert (former.usual, second.usual) == (False, True)
    with pytest.raises(ValidationError, match="usual one"):
        shop.adhesive_update(adhesive=second, usual=False)
    with pytest.raises(ValidationError, match="usual one"):
        shop.adhesive_delete(adhesive=studio.adhesives.get(usual=True))


def test_a_rate_keeps_the_name_that_estimates_go_by(studio: Studio) -> None:
    rate = RateFactory(studio=studio)
    with pytest.raises(ValidationError) as refusal:
        shop.rate_update(rate=rate, operation="sawing")
    assert list(refusal.value.message_dict) == ["operation"]
    assert shop.rate_update(rate=rate, minutes_per_unit=Decimal("0.3")).minutes_per_unit == Decimal("0.3")


# ---- designs


def test_a_design_is_saved_whole_and_read_back(studio: Studio) -> None:
    bands = [
        BAND | {"name": "foot", "layers": 1},
        BAND | {"woods": ["maple", "walnut"], "offsets": [0.5, -0.5]},
    ]
    design = designs.design_create(studio=studio, title="Bowl", parts=[_part(*bands)])
    assert design.parts.get().form.outer == [[0, 40], [60, 60]]
    assert (design.parts.get().form.wall, design.parts.get().form.floor) == (Decimal(6), Decimal(8))
    assert [(band.position, band.layers, band.woods) for band in design.parts.get().bands.all()] == [
        (1, 1, ["maple"]),
        (2, 6, ["maple", "walnut"]),
    ]
    assert design.parts.get().allowance_top == studio.shop.allowance_top


def test_saving_a_design_replaces_its_bands_and_counts_the_revision(studio: Studio) -> None:
    design = designs.design_create(studio=studio, title="Bowl", parts=[_part(BAND, BAND)])
    saved = designs.design_save(
        design=design, expected_revision=1, title="Deep bowl", parts=[_part(form=FORM | {"curve": "smooth"})]
    )
    assert (saved.revision, saved.title, saved.parts.get().form.curve) == (2, "Deep bowl", "smooth")
    assert saved.parts.get().form.outer == FORM["outer"]
    assert saved.parts.get().bands.count() == 1
    assert Band.objects.count() == 1


def test_the_second_of_two_people_is_told_and_overwrites_nothing(studio: Studio) -> None:
    """Alice and Bob open revision 1; Bob saves; Alice's save says that his is safe and hers is not saved."""
    opened_by_alice = designs.design_create(studio=studio, title="Bowl", parts=[_part()])
    opened_by_bob = Design.objects.get(pk=opened_by_alice.pk)
    designs.design_save(design=opened_by_bob, expected_revision=1, title="Bob's", parts=[_part()])
    with pytest.raises(ValidationError, match="Their version is safe") as refusal:
        designs.design_save(design=opened_by_alice, expected_revision=1, title="Alice's", parts=[])
    assert refusal.value.code == "stale"
    kept = Design.objects.get()
    assert (kept.title, kept.revision, kept.parts.get().bands.count()) == ("Bob's", 2, 1)


def test_every_error_of_a_design_is_told_at_once_with_its_place(studio: Studio) -> None:
    before = designs.design_create(studio=studio, title="Bowl", parts=[_part()])
    wrong = [
        BAND,
        BAND | {"segments": 2},
        BAND | {"woods": ["unobtainium"]},
        BAND | {"thickness": float("nan")},
    ]
    with pytest.raises(ValidationError) as refusal:
        designs.design_save(
            design=before, expected_revision=1, title="", parts=[_part(*wrong, form=FORM | {"wall": None})]
        )
    assert set(refusal.value.message_dict) == {
        "title",
        "parts[0].form.wall",
        "parts[0].bands[1].segments",
        "parts[0].bands[2].woods",
        "parts[0].bands[3].thickness",
    }
    assert "unobtainium" in str(refusal.value)
    kept = Design.objects.get()
    assert (kept.title, kept.revision, kept.parts.get().bands.count(), kept.parts.get().form.wall) == (
        "Bowl",
        1,
        1,
        Decimal(6),
    )


def test_a_copy_of_a_design_is_its_own(studio: Studio) -> None:
    template = designs.design_create(studio=studio, title="Bowl", is_template=True, parts=[_part()])
    copy = designs.design_copy(design=template, title="Bowl for the spring show")
    designs.design_save(
        design=copy,
        expected_revision=1,
        parts=[_part(BAND, BAND, form=FORM | {"outer": [[0, 10], [60, 20]]})],
    )
    template = Design.objects.get(pk=template.pk)
    assert (template.is_template, copy.is_template) == (True, False)
    assert (template.parts.get().form.outer, template.parts.get().bands.count(), template.revision) == (
        FORM["outer"],
        1,
        1,
    )


def test_a_design_that_a_commission_goes_by_is_kept(studio: Studio) -> None:
    design = CommissionFactory(studio=studio).design
    with pytest.raises(ValidationError, match="commission"):
        designs.design_delete(design=design)
    spare = DesignFactory(studio=studio)
    designs.design_delete(design=spare)
    assert list(Design.objects.for_studio(studio)) == [design]


# ---- commissions


def test_a_commission_starts_as_an_enquiry_asked_for_today(studio: Studio) -> None:
    commission = commissions.commission_create(
        studio=studio, client=ClientFactory(studio=studio), title="A bowl"
    )
    assert (commission.stage, commission.asked_on) == (Stage.ENQUIRY, timezone.localdate())


def test_a_commission_takes_no_client_of_another_studio(studio: Studio, other_studio: Studio) -> None:
    theirs = ClientFactory(studio=other_studio)
    with pytest.raises(ValidationError) as refusal:
        commissions.commission_create(studio=studio, client=theirs, title="A bowl")
    assert list(refusal.value.message_dict) == ["client"]
    assert not Commission.objects.exists()


def test_every_stage_but_the_last_leads_somewhere_and_only_where_allowed(studio: Studio) -> None:
    """From each stage every allowed move works and every other one is refused and changes nothing."""
    assert set(commissions.MOVES) == set(Stage.values)
    for stage, allowed in commissions.MOVES.items():
        for to in Stage.values:
            commission = CommissionFactory(studio=studio, stage=stage, design=None)
            if to in allowed:
                assert commissions.commission_move(commission=commission, to=to).stage == to
                continue
            with pytest.raises(ValidationError) as refusal:
                commissions.commission_move(commission=commission, to=to)
            assert list(refusal.value.message_dict) == ["stage"]
            assert Commission.objects.get(pk=commission.pk).stage == stage
    assert commissions.MOVES[Stage.CLOSED] == ()


def test_a_stage_nobody_knows_is_refused_with_the_ways_that_are_open(studio: Studio) -> None:
    with pytest.raises(ValidationError, match="designing or declined, not to lost"):
        commissions.commission_move(commission=CommissionFactory(studio=studio), to="lost")


def test_a_commission_with_hours_is_declined_and_not_deleted(studio: Studio, bob: Any) -> None:
    RateFactory(studio=studio)
    commission = CommissionFactory(studio=studio)
    entry = hours.hours_log(
        commission=commission, member=bob.member, operation="crosscut segments", minutes=5
    )
    with pytest.raises(ValidationError, match="Hours are logged"):
        commissions.commission_delete(commission=commission)
    hours.hours_delete(entry=entry)
    commissions.commission_delete(commission=commission)
    assert not Commission.objects.exists()


# ---- hours


def test_minutes_follow_from_start_and_end(studio: Studio, bob: Any) -> None:
    RateFactory(studio=studio)
    start = datetime.datetime(2026, 3, 2, 8, 0, tzinfo=datetime.UTC)
    entry = hours.hours_log(
        commission=CommissionFactory(studio=studio),
        member=bob.member,
        operation="crosscut segments",
        started_at=start,
        ended_at=start + datetime.timedelta(minutes=42, seconds=20),
    )
    assert entry.minutes == Decimal("42.33")  # 42 min 20 s, to the hundredth


def test_a_clock_is_started_and_stopped_once(studio: Studio, bob: Any) -> None:
    RateFactory(studio=studio)
    commission = CommissionFactory(studio=studio)
    running = hours.hours_start(commission=commission, member=bob.member, operation="crosscut segments")
    assert running.minutes is None
    with pytest.raises(ValidationError, match="already running"):
        hours.hours_start(commission=commission, member=bob.member, operation="crosscut segments")
    stopped = hours.hours_stop(entry=running, quantity=40)
    assert stopped.minutes is not None
    assert stopped.quantity == 40
    with pytest.raises(ValidationError, match="stopped already"):
        hours.hours_stop(entry=stopped)


@pytest.mark.parametrize(
    ("values", "place"),
    [
        ({"operation": "whittling", "minutes": 5}, "operation"),
        ({"minutes": -5}, "minutes"),
        ({"minutes": Decimal("NaN")}, "minutes"),
        ({"minutes": None}, "__all__"),
        ({"minutes": 5, "quantity": -1}, "quantity"),
    ],
)
def test_hours_that_cannot_be_are_refused(
    studio: Studio, bob: Any, values: dict[str, Any], place: str
) -> None:
    RateFactory(studio=studio)
    entry = {
        "commission": CommissionFactory(studio=studio),
        "member": bob.member,
        "operation": "crosscut segments",
    }
    with pytest.raises(ValidationError) as refusal:
        hours.hours_log(**entry | values)
    assert list(refusal.value.message_dict) == [place]
    assert not HoursEntry.objects.exists()


def test_work_that_ends_before_it_starts_is_refused(studio: Studio, bob: Any) -> None:
    RateFactory(studio=studio)
    now = timezone.now()
    with pytest.raises(ValidationError) as refusal:
        hours.hours_log(
            commission=CommissionFactory(studio=studio),
            member=bob.member,
            operation="crosscut segments",
            started_at=now,
            ended_at=now - datetime.timedelta(minutes=1),
        )
    assert list(refusal.value.message_dict) == ["ended_at"]
