"""Several doings at once, each in a thread with a database connection of its own."""

from collections.abc import Callable
from threading import Barrier, Thread
from typing import Any

from django.db import connection


def at_once(*doings: Callable[[], Any]) -> list[Any]:
    """What came of each, done in threads that start together; an error stands in its place."""
    start = Barrier(len(doings))
    came: list[Any] = [None] * len(doings)

    def do(place: int) -> None:
        try:
            start.wait(timeout=20)
            came[place] = doings[place]()
        except Exception as error:
            came[place] = error
        finally:
            connection.close()

    threads = [Thread(target=do, args=(place,)) for place in range(len(doings))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=120)
        assert not thread.is_alive()
    return came
