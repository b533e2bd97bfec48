"""The arithmetic stands alone: no module of estimating loads Django, and what is heavy is loaded where it is used."""

import pkgutil
import subprocess
import sys

import pytest

import estimating

MODULES = ["estimating", *(m.name for m in pkgutil.walk_packages(estimating.__path__, "estimating."))]
FOREIGN = ("django", "rest_framework", "projects", "turnery")


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
    assert not loaded_by(f"import {module}") & set(FOREIGN)


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
