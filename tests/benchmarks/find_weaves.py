"""Looks for weaves: cells of a few stones that repeat and are tighter than any mixture at random.

    python tests/benchmarks/find_weaves.py 4.9 4.1 3.3 --most 12 --seconds 300

takes the sizes' widths with the gap, mm. Cells begin at random and are drawn together; then stones
change places or are moved, and what is tighter is kept, or now and then what is not (basin hopping:
D. J. Wales, J. P. K. Doye, Journal of Physical Chemistry A 101, 5111, 1997; from memory). Prints
the tightest cell for each count of sizes, in the form of templater/catalogue/weaves.toml, with the
part of the cloth that stones and their gaps take (equal stones: 0.9069), how much sizes keep to
their kind (Newman's coefficient), and how much the pattern shows as stripes.
"""

import argparse
import math
import random
import time

from templater.geometry.kernels.tightening import Cell, tightened
from templater.geometry.weave_figures import fullness, kept_apart, striped

_COOL = 0.002
"""Part of the cloth by which a cell may be looser and still be taken, now and then."""
_APART, _STRIPED = 0.1, 0.25
"""Newman's coefficient, and the figure of stripes, beyond which a cell counts as worse."""
_STALE = 60


def begun(counts, chance):
    """A cell of so many stones of each size, at random."""
    size = tuple(s for s, count in enumerate(counts) for _ in range(count))
    slim = 0.5 + chance.random()
    places = tuple((chance.random(), chance.random()) for _ in size)
    return Cell(size, places, slim, (chance.random() - 0.5) * slim, 1.0 / slim)


def changed(cell, chance):
    """The cell with two stones exchanged, or one moved, or all a little, or its sides."""
    size, places = list(cell.size), list(cell.places)
    which, count = chance.random(), len(cell.size)
    ax, bx, by = cell.ax, cell.bx, cell.by
    if which < 0.5:
        i, j = chance.randrange(count), chance.randrange(count)
        size[i], size[j] = size[j], size[i]
    elif which < 0.75:
        places[chance.randrange(count)] = (chance.random(), chance.random())
    elif which < 0.9:
        wide = 0.25 / math.sqrt(count)
        places = [
            (x + (chance.random() - 0.5) * wide, y + (chance.random() - 0.5) * wide)
            for x, y in places
        ]
    else:
        bx += (chance.random() - 0.5) * ax
        slim = math.exp((chance.random() - 0.5) * 0.4)
        ax, by = ax * slim, by / slim
    return Cell(tuple(size), tuple(places), ax, bx, by)


def worth(cell, grown):
    """Fullness, less where sizes keep to their kind or show as stripes; 0 if the cell collapsed."""
    if cell is None:
        return 0.0
    lost = max(0.0, kept_apart(cell, grown) - _APART) + max(0.0, striped(cell) - _STRIPED)
    return fullness(cell, grown) - 0.5 * lost


def search(grown, most, seconds, chance, shares=None):
    """The best cell found for each count of sizes; with `shares`, counts within a tenth of these."""
    found, end = {}, time.monotonic() + seconds
    while time.monotonic() < end:
        count = chance.randint(2 * len(grown), most)
        least = math.ceil(0.15 * count)
        cuts = sorted(chance.randint(0, count - least * len(grown)) for _ in grown[1:])
        counts = [
            least + b - a
            for a, b in zip([0, *cuts], [*cuts, count - least * len(grown)], strict=True)
        ]
        if shares and max(abs(c / count - s) for c, s in zip(counts, shares, strict=True)) > 0.1:
            continue
        now = tightened(begun(counts, chance), grown)
        level, best, stale = worth(now, grown), now, 0
        high = level
        while now is not None and stale < _STALE:
            other = tightened(changed(now, chance), grown)
            new = worth(other, grown)
            if new > level or chance.random() < math.exp((new - level) / _COOL):
                now, level = other, new
            stale += 1
            if level > high + 1e-6:
                best, high, stale = now, level, 0
        key = tuple(counts)
        if best is not None and (key not in found or worth(found[key], grown) < high):
            found[key] = best
    return found


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument(
        "widths", type=float, nargs="+", help="widths with the gap, mm, largest first"
    )
    parser.add_argument("--most", type=int, default=12, help="stones of a cell at most")
    parser.add_argument("--seconds", type=float, default=120.0)
    parser.add_argument("--shares", type=float, nargs="+", help="only counts near these shares")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    grown = tuple(width / 2.0 for width in asked.widths)
    found = search(grown, asked.most, asked.seconds, random.Random(asked.seed), asked.shares)
    for counts, cell in sorted(found.items(), key=lambda pair: -worth(pair[1], grown)):
        print(f"\n# {':'.join(map(str, counts))}, fullness {fullness(cell, grown):.4f}", end="")
        print(f", apart {kept_apart(cell, grown):.2f}, striped {striped(cell):.2f}")
        print(f"[[weaves]]\nsides = [{cell.ax:.4f}, {cell.bx:.4f}, {cell.by:.4f}]\nstones = [")
        for size, (x, y) in zip(cell.size, cell.places, strict=True):
            print(f"    [{size}, {x % 1.0:.4f}, {y % 1.0:.4f}],")
        print("]")


if __name__ == "__main__":
    main()
