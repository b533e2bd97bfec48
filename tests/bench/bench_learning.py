"""Learned rates: how many of 2,000 simulated jobs the 80 % ranges hold, by the entries there are to learn from."""

from estimating.work.labour import standing_rates
from tests.estimating.simulated_shops import simulate

JOBS = 2000


def main() -> None:
    """Print each beside its target. With all operations a job; `simulated_shops` says what is drawn."""
    print(
        f"Learned rates: 80 % ranges over {JOBS} simulated jobs, target 76 to 84 % of jobs and of operations"
    )
    for entries in (0, 1, 5, 20):
        found = simulate(list(standing_rates().values()), entries=entries, jobs=JOBS, seed=20_260_301)
        print(
            f"  {entries:2} entries an operation: jobs {found.of_jobs:.1%}, "
            f"operations {found.of_operations:.1%} of {found.operations}"
        )


if __name__ == "__main__":
    main()
