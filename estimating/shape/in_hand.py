"""Layers as they lie in the hand while a stack is glued up: foot down, or rim down with the topmost first."""

from collections.abc import Sequence
from math import degrees


def order_in_hand(layers: Sequence[int], *, from_rim: bool) -> tuple[int, ...]:
    """Neighbouring layers, given from the bottom of the piece up, in the order they go on."""
    return tuple(reversed(layers)) if from_rim else tuple(layers)


def turn_in_hand(standing: float, placed: float, *, from_rim: bool) -> float:
    """How far a course is turned on the one it is set on, seen from above as it is held; the layers' angles, radians.

    Rim down, what counted anticlockwise counts clockwise. A steady turn looks the same from either end, as a screw
    does, but each turn then belongs to the lower layer of two, which is now the one that is placed.
    """
    return standing - placed if from_rim else placed - standing


def within_half_turn(turn: float) -> float:
    """The turn (radians) in degrees, above -180 and up to 180; rounded, so that what makes a whole turn is none."""
    turn_deg = round(degrees(turn), 6) % 360
    return turn_deg - 360 if turn_deg > 180 else turn_deg
