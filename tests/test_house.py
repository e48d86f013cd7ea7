"""The house: imports point downwards only, heavy libraries stay outside the door."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import templater

HOUSE = Path(templater.__file__).parent

FLOORS = [
    {"__main__"},
    {"cli"},
    {"session"},
    {"pipeline"},
    {
        "reading", "writing", "readback", "ground", "applique", "stoning", "stencils", "sheets",
        "counting", "checks",
    },
    {"job"},
    {"lettering"},
    {"geometry"},
    {"catalogue"},
    {"model"},
    {"demo"},
]  # fmt: skip
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}

ONLY_AT_THE_DOORS = {"svgpathtools", "svgwrite", "ezdxf", "reportlab", "pikepdf", "pypdfium2"}
DOORS = {"reading", "writing", "readback"}
"""The only rooms that know file formats."""


def room_of(path: Path) -> str:
    inside = path.relative_to(HOUSE)
    return inside.parts[0] if len(inside.parts) > 1 else inside.stem


def imports_of(path: Path) -> list[tuple[int, str]]:
    found = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative imports hide the floor"
            found.append((node.lineno, node.module or ""))
    return found


ROOMS = sorted(path for path in HOUSE.rglob("*.py") if path != HOUSE / "__init__.py")


@pytest.mark.parametrize("path", ROOMS, ids=lambda path: str(path.relative_to(HOUSE)))
def test_imports_point_downwards(path):
    room = room_of(path)
    for line, module in imports_of(path):
        steps = module.split(".")
        if steps[0] != "templater" or len(steps) == 1 or steps[1] == room:
            continue
        if room == "cli" and steps[1] == "demo":
            continue
        assert FLOOR[room] < FLOOR[steps[1]], f"{path.name}:{line} imports {module}"


@pytest.mark.parametrize("path", ROOMS, ids=lambda path: str(path.relative_to(HOUSE)))
def test_checks_know_the_model_alone(path):
    if room_of(path) == "checks":
        for line, module in imports_of(path):
            known = module.startswith(("templater.model", "templater.checks"))
            assert known or not module.startswith("templater"), f"{path.name}:{line} {module}"


@pytest.mark.parametrize("path", ROOMS, ids=lambda path: str(path.relative_to(HOUSE)))
def test_file_formats_stay_at_the_doors(path):
    if room_of(path) not in DOORS | {"lettering"}:
        for line, module in imports_of(path):
            assert module.split(".")[0] not in ONLY_AT_THE_DOORS, f"{path.name}:{line} {module}"


def test_help_needs_nothing_heavy():
    script = (
        "import sys; sys.argv = ['templater', '--help']\n"
        "from templater.cli.main import run\n"
        "run(['--help'])\n"
        "heavy = {'numpy', 'shapely', 'ezdxf', 'pydantic', 'svgwrite', 'svgpathtools', 'numba',"
        " 'reportlab', 'PIL', 'lxml', 'networkx', 'pikepdf'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    told = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert told.stderr.strip() == "[]"


OVERLAYS = {
    "difference", "intersection", "intersection_all", "symmetric_difference", "unary_union",
    "union", "union_all",
}  # fmt: skip
WITHOUT_GRID = {
    "applique/closing.py": "asks only whether halves overlap by a quarter millimetre",
    "geometry/cutting.py": "finds its curves again by their points, which a grid would move",
    "reading/areas.py": "joins faces of lines that were noded on its own grid",
}


def overlays_of(path: Path) -> list[int]:
    """The lines that take shapes together or apart without a grid."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call)
        and getattr(node.func, "attr", getattr(node.func, "id", "")) in OVERLAYS
        and "grid_size" not in {keyword.arg for keyword in node.keywords}
    ]


@pytest.mark.parametrize("path", ROOMS, ids=lambda path: str(path.relative_to(HOUSE)))
def test_shapes_are_taken_together_and_apart_on_a_grid(path):
    """Without one GEOS may be grossly wrong: see docs/decisions.md and geometry/polygons.py."""
    inside = path.relative_to(HOUSE).as_posix()
    assert bool(overlays_of(path)) == (inside in WITHOUT_GRID)
