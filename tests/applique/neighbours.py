"""Random neighbours: zones that fill a square between them, with straight and curved common lines."""

import math
import random
import re
from itertools import pairwise

import shapely
from drawings import ground_of

from templater.applique import make_parts
from templater.job import load_job
from templater.model.curves import Arc, Area, Line, Path
from templater.model.parts import PartKind

SIDE_MM = 200.0


def patchwork(seed):
    """(layers of a drawing, tables of a job): some of three to seven cells, each with its own widths."""
    chance = random.Random(seed)
    sites = [
        (chance.uniform(10, 190), chance.uniform(10, 190)) for _ in range(chance.randint(3, 7))
    ]
    square = shapely.box(0, 0, SIDE_MM, SIDE_MM)
    cells = shapely.voronoi_polygons(shapely.MultiPoint(sites), extend_to=square)
    bulges = {}
    areas = [_cell(cell.intersection(square), bulges, chance) for cell in cells.geoms]
    kept = [k for k in range(len(areas)) if chance.random() < 0.75]
    layers, tables = {}, []
    for k in kept if len(kept) > 1 else (0, 1):
        layers[f"zone z{k}"] = [areas[k]]
        tables.append(
            f"[zones.z{k}]\nweb = false\nallowance = {chance.choice([0, 0, 3, 5, 6, 10])}\n"
            f"underlap = {chance.choice([3, 5, 8, 12])}\n"
            f'corner = "{chance.choice(["mitre", "square", "bevel", "folded"])}"\n'
        )
    return layers, "".join(tables)


def _cell(polygon, bulges, chance):
    ring = [(round(x, 6), round(y, 6)) for x, y in shapely.orient_polygons(polygon).exterior.coords]
    segments = []
    for a, b in pairwise(ring):
        if math.dist(a, b) < 1e-5:
            continue
        line = (min(a, b), max(a, b))
        if line not in bulges:
            outer = any(a[i] == b[i] and a[i] in {0.0, SIDE_MM} for i in (0, 1))
            bulges[line] = 0.0 if outer or chance.random() < 0.4 else chance.uniform(-0.25, 0.25)
        bulge = bulges[line] if line[0] == a else -bulges[line]
        segments.append(Arc(a, b, bulge) if bulge else Line(a, b))
    return Area(Path(tuple(segments), closed=True))


def cut_out(seed, *, underlaps=True):
    """(ground, appliqués by zone) of a patchwork; None where its curves cross."""
    layers, tables = patchwork(seed)
    if not underlaps:
        tables = re.sub("underlap = .*", "underlap = 0", tables)
    ground, problems = ground_of(layers, tables)
    if any(problem.severity == "error" for problem in problems):
        return None
    job, _ = load_job(f'drawing = "test.svg"\n{tables}', "test.toml")
    parts, _ = make_parts(ground, job)
    return ground, {part.zone: part for part in parts if part.kind is PartKind.APPLIQUE}
