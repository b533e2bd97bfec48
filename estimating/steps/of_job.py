"""From a job to the steps it is made in: every minute of its labour in one of them, and every wait between them."""

from estimating.steps.finish import add_finishing
from estimating.steps.lathe import add_turning
from estimating.steps.making import Making
from estimating.steps.rings import add_panels, add_rings
from estimating.steps.saw import add_sawing
from estimating.steps.stacks import add_stacks
from estimating.steps.step import Step
from estimating.work.labour import Labour
from estimating.work.operations import Job

SESSION = 120.0
"""Minutes of one kind of work on end before it is parted; a setting of the bench, common practice."""


def steps_of(job: Job, labour: Labour, *, session: float = SESSION) -> tuple[Step, ...]:
    """Every step of all pieces, each after those it waits for.

    Hands-on minutes are the means of the labour, all but design, which is done before the order: they add up to it.
    Work longer than `session` minutes is parted into equal sessions; a glue-up never is. Keys stay the same while what
    they name does, whatever else of the design or the shop is changed.
    """
    making = Making(job)
    add_sawing(making)
    add_panels(making)
    add_rings(making)
    add_stacks(making)
    add_turning(making)
    add_finishing(making)
    return making.book.steps(labour, session=session)
