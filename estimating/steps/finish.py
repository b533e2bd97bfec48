"""Steps from the turned piece to the parcel: coats with their drying, hardening, photographs and packing."""

from estimating.steps.book import Draft
from estimating.steps.making import DAY, HOUR, Making

_COAT = "apply finish coat and rub down"
_PACK = "photograph, record, pack, paperwork"


def add_finishing(making: Making) -> None:
    """All pieces together: coat by coat, then hard, then packed."""
    finish = making.job.sheet.finish
    last = [
        f"p{piece}.part{number}.foot"
        for piece in making.pieces
        for number in range(1, len(making.job.shapes) + 1)
    ]
    last += [
        making.done[piece, one.number]
        for piece in making.pieces
        for one in making.stackings
        if making.shape_of(one) is None
    ]
    for coat in range(1, finish.coats + 1):
        name = f"Apply coat {coat} of {finish.coats} and rub down"
        last = [making.book.add(Draft(f"coat{coat}", name, after=last, work={_COAT: (1, 1)}))]
        if coat < finish.coats and finish.dry_h > 0:
            name = f"Coat {coat} dries"
            last = [making.book.add(Draft(f"coat{coat}.dry", name, "dry", finish.dry_h * HOUR, after=last))]
    if finish.coats and finish.hard_days > 0:
        hard = Draft("hard", "The finish hardens", "dry", finish.hard_days * DAY, after=last)
        last = [making.book.add(hard)]
    making.book.add(Draft("pack", "Photograph, record, pack", after=last, work={_PACK: (1, 1)}))
