"""The arithmetic stands alone: no module of estimating loads Django, and what is heavy is loaded where it is used."""

import json
import pkgutil
import subprocess
import sys
from functools import cache
from typing import Any

import pytest

import estimating

MODULES = ["estimating", *(m.name for m in pkgutil.walk_packages(estimating.__path__, "estimating."))]
FOREIGN = ("django", "rest_framework", "projects", "turnery")

# A process that has loaded numpy, as most modules do, and forks: nothing of one module is there for the next.
EACH_ALONE = """
import importlib, json, os, sys, traceback, warnings
import numpy
for module in sys.argv[1:]:
    if os.fork():
        os.wait()
        continue
    warnings.simplefilter("error")
    try:
        importlib.import_module(module)
        said = {"loaded": sorted({name.split(".")[0] for name in sys.modules})}
    except BaseException:
        said = {"error": traceback.format_exc()}
    print(json.dumps([module, said]), flush=True)
    os._exit(0)
"""


@cache
def each_alone() -> dict[str, Any]:
    """What each module loads where none other of ours is loaded yet, or how it failed."""
    ran = subprocess.run(
        [sys.executable, "-c", EACH_ALONE, *MODULES], capture_output=True, text=True, check=True
    )
    return dict(json.loads(line) for line in ran.stdout.splitlines())


def loaded_by(code: str) -> set[str]:
    """The top names in sys.modules of a fresh interpreter after the code."""
    script = f"{code}\nimport sys\nprint(*{{name.split('.')[0] for name in sys.modules}})"
    ran = subprocess.run(
        [sys.executable, "-W", "error", "-c", script], capture_output=True, text=True, check=True
    )
    return set(ran.stdout.split())


@pytest.mark.parametrize("module", MODULES)
def test_every_module_can_be_imported_first(module: str) -> None:
    """No hidden order of imports, no circle, no Django."""
    alone = each_alone()[module]
    assert "error" not in alone, alone["error"]
    assert {"estimating", "numpy"} <= set(alone["loaded"])
    assert not set(alone["loaded"]) & set(FOREIGN)


def test_an_estimate_in_mm_loads_nothing_heavy_it_does_not_use() -> None:
    """scipy takes a third of a second and pint a quarter: the cold start has one second for everything."""
    code = (
        "from estimating.estimate import estimate\nfrom estimating.sheet import read_sheet\n"
        "from estimating.answer import as_json\n"
        "as_json(estimate(read_sheet({'title': 'Disc', 'unit': 'mm', 'form': {'outer': [[0, 30], [20, 40]], "
        "'curve': 'smooth', 'inside': {'kind': 'wall', 'wall': 4, 'floor': 5}}, "
        "'bands': [{'layers': 2, 'thickness': 10, 'segments': 6, 'woods': ['ash']}]})))"
    )
    loaded = loaded_by(code)
    assert "numpy" in loaded
    assert not loaded & {"scipy", "pint", "shapely", "trimesh", "django"}
