"""The solver of linear and whole-number programs: quiet, and the same answer from the same input."""

import highspy


class Solver(highspy.Highs):
    """HiGHS without a word on standard output and with one thread: the same input gives the same answer.

    Its own start enables callbacks, and that prints a banner before any option can be set; so it is not called.
    """

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()
        for option, value in (
            ("output_flag", False),
            ("threads", 1),
            ("parallel", "off"),
            ("random_seed", 0),
        ):
            self.setOptionValue(option, value)
