"""How each figure of an estimate came about, in a line or two, in the units on screen. Says; does not reckon."""

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from estimating.quantities import unit_in_mm
from estimating.work.labour import CORRELATION
from projects.models import Studio
from projects.templatetags import turnery as show

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.piece import Band
    from estimating.shape.rings import Ring
    from estimating.work.labour import OperationTime


class Workings:
    """The workings of one estimate. Each method gives a mapping from a figure's name to its words."""

    def __init__(self, estimate: "Estimate", studio: Studio) -> None:
        self.estimate = estimate
        self.studio = studio
        self.currency = estimate.sheet.pricing.currency

    def all(self) -> Mapping[str, str]:
        """Every working of the page but those of rings and operations, which stand in their rows."""
        return {**self.whole(), **self.cost(), **self.price(), **self.glue()}

    def _money(self, amount: Decimal) -> str:
        return show.money(amount, self.currency)

    def _rate(self, amount: Decimal) -> str:
        """A rate, which may be finer than a coin."""
        return f"{self.currency} {show.plain(amount)}"

    def _mm(self, mm: float) -> str:
        """Inches to the thousandth: sums of fractions rounded to 1/64 would not come out."""
        if self.studio.length_unit == "mm":
            return show.size_unit(mm, self.studio)
        return f"{mm / unit_in_mm('in'):.3f} in" if mm else "0 in"

    def whole(self) -> Mapping[str, str]:
        """The figures of the answer at the top."""
        bands = [band for shape in self.estimate.shapes for band in shape.bands]
        counted = "; ".join(
            f"{band.name or number}: {band.layers} × {band.segments}"
            for number, band in enumerate(bands, start=1)
        )
        labour = self.estimate.labour
        woods = " + ".join(
            f"{key} {show.timber(account.boards, self.studio)}" for key, account in self.estimate.wood.items()
        )
        inches = self.studio.length_unit == "in"
        measure = "1 board foot is 144 cubic inches." if inches else "1 dm³ is a litre."
        return {
            "segments": f"Layers × segments, band by band, of one piece: {counted}.",
            "hours": (
                f"The operations below. Their means add up to {show.figure(labour.mean / 60, 2)} h, which is what "
                f"the price uses; half of such jobs take less than {show.figure(labour.median / 60, 2)} h, and eight "
                f"in ten lie in the range. Operations of one job run slow together (correlation {CORRELATION})."
            ),
            "boards": f"Whole boards, rough, bought ones included: {woods}. {measure}",
            "mass": "Turned volume of each wood × its density at 12 % moisture, and the glue lines between layers.",
        }

    def glue(self) -> Mapping[str, str]:
        """The adhesive's millilitres."""
        shop, adhesive = self.estimate.sheet.shop, self.estimate.adhesive
        ends, faces = show.square_dm(adhesive.end_area), show.square_dm(adhesive.coated_area)
        beyond = show.size_unit(shop.coat_margin, self.studio)
        margin = f", coated {beyond} beyond what touches," if shop.coat_margin else ""
        pieces = f" × {self.estimate.sheet.quantity} pieces" if self.estimate.sheet.quantity > 1 else ""
        volume = (
            f"({faces} dm² of layer faces{margin} + {ends} dm² of segment ends × {shop.end_grain_factor:g}) × film "
            f"{show.film(shop.film)} × 2 faces × {1 + shop.squeeze_out:g} for squeeze-out{pieces}, "
            f"+ {shop.mix_loss_ml:g} ml left in the cup × {len(adhesive.mixes)} mixes."
        )
        return {"adhesive_ml": volume}

    def cost(self) -> Mapping[str, str]:
        """The lines of cost."""
        estimate, pricing = self.estimate, self.estimate.sheet.pricing
        hours = f"{show.figure(estimate.labour.mean_hours, 2)} h (mean)"
        failing = pricing.failure_share
        return {
            "wood": "Price of each board below × the share of it that does not go back on the rack.",
            "adhesive": (
                f"{show.figure(estimate.adhesive.volume_ml, 1)} ml × {self._rate(pricing.adhesive_per_ml)} a ml."
            ),
            "consumables": (
                f"{self._money(pricing.consumables)} a commission + finish {show.figure(estimate.finish_ml, 0)} ml × "
                f"{self._rate(estimate.sheet.finish.per_ml)} + {hours} × {self._money(pricing.consumables_rate)}."
            ),
            "labour": f"{hours} × {self._money(pricing.labour_rate)}. The mean, since slow jobs are paid for too.",
            "overhead": f"{hours} × {self._money(pricing.overhead_rate)} a bench hour.",
            "failures": self._by_stage()
            or (
                f"Of every job begun, {show.percent(failing)} is made again: "
                f"{show.percent(failing)} ÷ {show.percent(1 - failing)} of the lines above."
            ),
            "total": "The lines above, each rounded to the coin.",
        }

    def _by_stage(self) -> str:
        """The failures of each stage, where they are set so."""
        words = {"segment": "segments", "ring": "rings", "glue_up": "glue-ups", "lathe": "at the lathe"}
        parts = [
            f"{words[stage]} {self._money(lost)}"
            for stage, lost in self.estimate.cost.by_stage.items()
            if lost
        ]
        return f"Each with what is lost along with it: {', '.join(parts)}." if parts else ""

    def price(self) -> Mapping[str, str]:
        """From cost to price."""
        estimate, pricing, price = self.estimate, self.estimate.sheet.pricing, self.estimate.price
        spare = (
            f"(net {self._money(price.net)} − costs but labour {self._money(estimate.cost.all_but_labour)})"
        )
        return {
            "net": self._net(),
            **self._shares(),
            "tax": self._tax(),
            "retail": self._retail(),
            "deposit": f"{show.percent(pricing.deposit_share)} of {self._money(price.work)}.",
            "per_hour": f"{spare} ÷ {show.figure(estimate.labour.mean_hours, 2)} h (mean).",
            **self._offer(),
        }

    def _tax(self) -> str:
        """The tax at each of its rates, and how it is rounded."""
        pricing, rates = self.estimate.sheet.pricing, self.estimate.price.at_rates
        parts = " + ".join(f"{show.percent(one.rate)} of {self._money(one.base)}" for one in rates)
        by = ", each rounded once" if len(rates) > 1 else ""
        return f"{parts}{by if pricing.tax_by == 'quote' else ', rounded for each line'}."

    def _retail(self) -> str:
        """What the printed price holds, and the step it was rounded up to."""
        sheet = self.estimate.sheet
        pricing, pieces = sheet.pricing, sheet.quantity
        words = "With its tax." if pricing.tax_inclusive else "Before tax, which the papers show beside it."
        as_set = pricing.sold == "set" and pieces > 1
        if as_set:
            words += f" {'The pair has' if pieces == 2 else f'The set of {pieces} has'} one price."
        if pricing.price_step and pricing.price_from != "offer":
            whose = "for the set" if as_set else "for each piece" if pieces > 1 else ""
            before = " before the discount" if self.estimate.price.discount else ""
            words += (
                f" Rounded up{before} to a multiple of {self._money(pricing.price_step)} {whose}".rstrip()
                + "."
            )
        return words

    def _net(self) -> str:
        """What the studio is paid: from cost, from the wanted hourly, or backwards from a price."""
        estimate, pricing, price = self.estimate, self.estimate.sheet.pricing, self.estimate.price
        if pricing.price_from == "offer" and pricing.offer is not None:
            return f"Worked backwards from the price named, {self._money(price.retail)}."
        haste = f" × (1 + haste {show.percent(pricing.rush)})" if pricing.rush else ""
        if pricing.wanted_hourly is None:
            total = self._money(estimate.cost.total)
            words = f"Cost {total} ÷ (1 − margin {show.percent(pricing.margin)}){haste}."
        else:
            hours = f"{show.figure(estimate.labour.mean_hours, 2)} h × {self._money(pricing.wanted_hourly)} wanted"
            but_labour = self._money(estimate.cost.all_but_labour)
            words = f"All costs but labour, {but_labour}, + {hours}{haste}."
        if not (pricing.price_step or pricing.discount or price.fee):
            return words
        return f"{words} Then worked back from the printed price {self._money(price.retail)}."

    def _shares(self) -> Mapping[str, str]:
        """The gallery's share, the fee, and the retail price that both are in."""
        pricing, price = self.estimate.sheet.pricing, self.estimate.price
        share = show.percent(pricing.gallery_share)
        before = f"{self._money(price.net)} ÷ (1 − gallery’s {share})."
        if price.fee or price.discount:
            before = "What you are paid, your fee and what the gallery keeps, together."
        elif pricing.price_step or pricing.price_from == "offer":
            less_tax = ", less its tax" if pricing.tax_inclusive else ""
            before = f"The printed price, {self._money(price.retail)}{less_tax}."
        gallery = f"{share} of the retail price before tax."
        if price.discount and pricing.discount_borne_by != "both":
            bearer = "you bear" if pricing.discount_borne_by == "studio" else "it bears"
            gallery = f"{share} of the price before the discount, which {bearer} alone."
        return {
            "gallery": gallery,
            "before_tax": before,
            "fee": f"{show.percent(pricing.payment_fee)} of all that is paid.",
            "at_cost": "Freight, crate and stand, as they cost; no share of the gallery’s is in it."
            + (" Worked out from the box, below." if self.estimate.carriage else ""),
            "listed": f"Less {show.percent(pricing.discount)}.",
        }

    def _offer(self) -> Mapping[str, str]:
        offer, pricing = self.estimate.price.offer, self.estimate.sheet.pricing
        if offer is None:
            return {}
        tax_out = f" ÷ (1 + tax {show.percent(pricing.tax)})" if pricing.tax_inclusive else ""
        share = show.percent(pricing.gallery_share)
        but_labour = self._money(self.estimate.cost.all_but_labour)
        return {
            "offer_net": f"{self._money(offer.retail)}{tax_out} × (1 − gallery’s {share}).",
            "offer_per_hour": (
                f"({self._money(offer.net)} − costs but labour {but_labour}) "
                f"÷ {show.figure(self.estimate.labour.mean_hours, 2)} h (mean)."
            ),
        }

    def ring(self, ring: "Ring") -> list[str]:
        """The saw's angle and the measures of one ring."""
        band = self.estimate.band_of(ring)
        inner, radius = self._mm(ring.inner_radius), self._mm(ring.outer_radius)
        covers = f"Covers radius {inner} to {radius}, allowances included."
        bored = [f"Bored to Ø {self._mm(ring.bore)}."] if ring.bore else []
        return [*self._edges(ring, covers), *bored, self._ring_height(ring, band)]

    def _edges(self, ring: "Ring", covers: str) -> list[str]:
        if ring.is_disc:
            return [f"{covers} One piece, sawn round from a square of {self._mm(ring.strip_width)}."]
        gap = f" × (1 − gap {show.percent(ring.gap)})" if ring.gap else ""
        half, saw = show.as_degrees(ring.half_angle), show.as_degrees(ring.miter)
        if ring.tilt:
            tilt = show.as_degrees(ring.tilt)
            return [
                f"{covers} Half of a stave's share of the circle is 180° ÷ {ring.segments} = {half}.",
                f"Since the staves lean, the saw is set to {saw} and its blade tilted by {tilt}.",
            ]
        radius, inner = self._mm(ring.outer_radius), self._mm(ring.inner_radius)
        return [
            f"{covers} Saw to 180°{gap} ÷ {ring.segments} = {saw}.",
            f"Long edge 2 × {radius} × tan {half}; short edge 2 × {inner} × sin {half}; "
            f"strip {radius} − {inner} × cos {half} wide.",
        ]

    def _ring_height(self, ring: "Ring", band: "Band") -> str:
        shop = self.estimate.sheet.shop
        thick, flat = self._mm(band.thickness), self._mm(shop.flatten)
        if band.made == "veneer":
            return f"As thick as it is bought: {thick}."
        if band.made != "sliced":
            return f"Height as glued: layer {thick} + 2 × {flat} for flattening."
        each = f"{len(ring.layers)} × ({thick} + sanding {self._mm(shop.slice_sanding)}"
        kerf = self._mm(shop.slice_kerf)
        if shop.slice_hold > 0:
            return f"Height as glued: {flat} + {each} + kerf {kerf}) + {self._mm(shop.slice_hold)} held."
        return f"Height as glued: 2 × {flat} + {each}) + {len(ring.layers) - 1} kerfs of {kerf}."

    def operation(self, operation: "OperationTime") -> str:
        """The minutes of one operation."""
        parts = []
        if operation.setup_minutes:
            once = operation.setups == 1
            parts.append(
                f"{operation.setup_minutes:.4g} min × {operation.setups:g} set-up{'' if once else 's'}"
            )
        how_many = show.whole(show.figure(operation.quantity, 1))
        parts.append(f"{operation.minutes_per_unit:.4g} min × {how_many} ({show.unit_words(operation.unit)})")
        return (
            f"{' + '.join(parts)} is the median, {operation.median:.0f} min. With spread {operation.spread:.3g} the "
            f"mean is {operation.mean:.0f} min and eight jobs in ten take {operation.low:.0f} to {operation.high:.0f}. "
            f"{self._rate_from(operation)}"
        )

    def _rate_from(self, operation: "OperationTime") -> str:
        """Whose rate it is, and what repeating pieces has to do with it."""
        workshop, pieces = self.estimate.workshop, self.estimate.sheet.quantity
        rate = workshop.rates[operation.name]
        words = f"From your {rate.source}." if rate.source.startswith("hours log") else "A standing rate."
        if operation.minutes_per_unit != rate.minutes_per_unit:
            gain = show.percent(workshop.repeat_rate)
            words += f" Minutes a unit are those of {pieces} like pieces, at {gain} a doubling."
        return words
