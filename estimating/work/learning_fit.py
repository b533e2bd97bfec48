"""What is believed of a logarithm that is normal with unknown mean and spread, before and after it is observed."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt

from scipy.special import ndtri, stdtr, stdtrit

from estimating.work.labour import Z_80

LEAST_SPREAD = 0.05
"""A standing spread below this is taken as this: no work repeats itself more closely. A judgement of ours."""

_FARTHEST = 8.0


@dataclass(frozen=True, slots=True)
class Belief:
    """Normal data of unknown mean and variance: normal-inverse-gamma, what comes next is a Student t.

    `centre` is believed of the mean with the weight of `weight` observations, `scale` of the standard deviation with
    `freedom` degrees of freedom: in the usual letters mu, kappa, sigma and nu.
    """

    centre: float
    weight: float
    freedom: float
    scale: float

    @property
    def next_scale(self) -> float:
        """Scale of the Student t with `freedom` degrees that the next observation follows."""
        return self.scale * sqrt(1 + 1 / self.weight)

    @property
    def spread(self) -> float:
        """Sigma of the normal whose middle 80 % is as wide as that of the next observation."""
        return float(stdtrit(self.freedom, 0.9)) * self.next_scale / Z_80

    def score(self, observed: float) -> float:
        """How far out an observation lies, as a standard normal score of the same probability."""
        t = (observed - self.centre) / self.next_scale
        score = float(-ndtri(stdtr(self.freedom, -abs(t))))
        return max(-_FARTHEST, min(_FARTHEST, score if t > 0 else -score))


@dataclass(frozen=True, slots=True)
class Sums:
    """Weights, and weighted sums of observations and their squares: all that an update asks of the data."""

    weight: float = 0.0
    first: float = 0.0
    second: float = 0.0

    def __add__(self, other: "Sums") -> "Sums":
        return Sums(self.weight + other.weight, self.first + other.first, self.second + other.second)

    def __sub__(self, other: "Sums") -> "Sums":
        return Sums(self.weight - other.weight, self.first - other.first, self.second - other.second)


def sums_of(observed: Iterable[tuple[float, float]]) -> Sums:
    """The sums of observations, each with its weight."""
    total = Sums()
    for value, weight in observed:
        total += Sums(weight, weight * value, weight * value**2)
    return total


def prior(*, spread: float, weight: float) -> Belief:
    """A standing rate as a belief worth `weight` jobs: centre 0, the next job's 80 % range that of `spread`."""
    one = Belief(centre=0.0, weight=weight, freedom=weight, scale=1.0)
    return Belief(0.0, weight, weight, max(spread, LEAST_SPREAD) / one.spread)


def updated(belief: Belief, seen: Sums, *, spent: float = 0.0) -> Belief:
    """The belief after what was seen; a weight of one half counts as half an observation.

    `spent` are degrees of freedom that the data have paid for something else. Source: the conjugate update of the
    normal with unknown mean and variance, Gelman, Carlin, Stern, Dunson, Vehtari & Rubin, Bayesian Data Analysis, 3rd
    ed. 2013, section 3.3 (from memory); held against numerical integration in the tests.
    """
    if seen.weight <= 0:
        return belief
    mean = seen.first / seen.weight
    scatter = max(0.0, seen.second - seen.weight * mean**2)
    weight = belief.weight + seen.weight
    freedom = belief.freedom + max(0.0, seen.weight - spent)
    apart = belief.weight * seen.weight / weight * (mean - belief.centre) ** 2
    squares = belief.freedom * belief.scale**2 + scatter + apart
    centre = (belief.weight * belief.centre + seen.first) / weight
    return Belief(centre, weight, freedom, sqrt(squares / freedom))
