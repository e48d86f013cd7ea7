"""Shortening a tour: Lin and Kernighan's search by flips, restarted from local kicks.

Tours are arrays of cities with a position for each; a move is a row of reversals of stretches of
the array, so that undoing is reversing again. Effort is fixed: as many kicks as asked for.
Sources: S. Lin and B. W. Kernighan, An effective heuristic algorithm for the traveling-salesman
problem, Operations Research 21, 1973; D. Applegate, W. Cook, A. Rohe, Chained Lin-Kernighan for
large traveling salesman problems, INFORMS Journal on Computing 15, 2003.
"""

from __future__ import annotations

import math

from templater.geometry.kernels.compiled import Reals, Wholes, kernel
from templater.geometry.rng import A1, A2, M1, M2

DEPTH = 4
WIDE = 5
LOG = 4096
_TINY = 1e-9


@kernel
def distance(x: Reals, y: Reals, a: int, b: int, home: int) -> float:
    """Between two cities. With a `home`, the last city is the way back: free, and tied to home."""
    if home >= 0:
        last = len(x) - 1
        if a == last or b == last:  # noqa: PLR1714 - a tuple is slower in plain runs
            return -1e6 if a == home or b == home else 0.0  # noqa: PLR1714 - likewise
    dx, dy = x[a] - x[b], y[a] - y[b]
    return math.sqrt(dx * dx + dy * dy)


@kernel
def reverse(cities: Wholes, places: Wholes, i: int, j: int) -> None:
    """Reverses the stretch of places i to j, which may run over the end."""
    n = len(cities)
    steps = (j - i) % n + 1
    for _ in range(steps // 2):
        a, b = cities[i], cities[j]
        cities[i] = b
        places[b] = i
        cities[j] = a
        places[a] = j
        i += 1
        if i == n:
            i = 0
        j -= 1
        if j < 0:
            j = n - 1


@kernel
def flip(cities: Wholes, places: Wholes, i: int, j: int, log: Wholes, made: int) -> bool:
    """Reverses places i to j, or the rest where that is shorter (then True); notes it in the log."""
    n = len(cities)
    turned = False
    if ((j - i) % n + 1) * 2 > n:
        i, j = (j + 1) % n, (i - 1) % n
        turned = True
    reverse(cities, places, i, j)
    log[2 * made] = i
    log[2 * made + 1] = j
    return turned


@kernel
def search(
    start: int, ahead: bool, x: Reals, y: Reals, near: Wholes, wide: int, cities: Wholes,
    places: Wholes, home: int, longest: int, log: Wholes, made: int, choice: Reals,
    touched: Wholes,
) -> tuple[float, int]:  # fmt: skip
    """Looks for a better tour by removing the edge from `start` ahead (or back).

    No stretch longer than `longest` is reversed. Gives the length saved and how many reversals the log then holds; `touched` holds, from 1 on,
    the cities whose edges changed, and how many in 0.
    """
    n = len(cities)
    at = places[start]
    end = cities[(at + 1) % n] if ahead else cities[(at - 1) % n]
    gains = (distance(x, y, start, end, home), 0.0, 0.0)
    gain = gains[0]
    best, best_made, best_touched = 0.0, made, 0
    first_made = made
    level = 0
    touched[1], touched[2] = start, end
    count = 2
    tried0, tried1 = 0, 0
    gain0, gain1 = gain, 0.0
    ahead0, ahead1 = ahead, ahead
    while True:
        # The level's candidates, best first: those beyond what was tried already.
        breadth = 5 if level == 0 else (3 if level == 1 else 1)
        skip = tried0 if level == 0 else (tried1 if level == 1 else 0)
        found = -1
        if level < DEPTH and skip < breadth:
            size = 0
            for k in range(wide):
                c = near[end * wide + k]
                if c < 0:
                    break
                add = distance(x, y, end, c, home)
                if gain - add <= _TINY:
                    break
                place = places[c]
                if ahead:
                    after = cities[(place - 1) % n]
                else:
                    after = cities[(place + 1) % n]
                if c == start or after == end or c == end:  # noqa: PLR1714, SIM109 - likewise
                    continue
                steps = (place - places[end]) % n
                if min(steps, n - steps) > longest:
                    continue
                value = distance(x, y, after, c, home) - add
                # Insertion into the short list of the best so far.
                spot = size
                while spot > 0 and choice[2 * (spot - 1)] < value:
                    if spot < WIDE:
                        choice[2 * spot] = choice[2 * (spot - 1)]
                        choice[2 * spot + 1] = choice[2 * (spot - 1) + 1]
                    spot -= 1
                if spot < WIDE:
                    choice[2 * spot] = value
                    choice[2 * spot + 1] = float(c)
                    if size < WIDE:
                        size += 1
            if skip < size:
                found = int(choice[2 * skip + 1])
        if found < 0:
            if best > _TINY or level == 0:
                break
            # Dead end without a better tour: back to the last level that has alternatives.
            back = 1 if level > 2 or (level == 2 and tried1 < 3) else 0
            if level == 1:
                back = 0
            if back == 1 and tried1 >= 3:
                back = 0
            while made > first_made + back:
                made -= 1
                reverse(cities, places, log[2 * made], log[2 * made + 1])
            level = back
            if back == 0:
                gain, ahead = gain0, ahead0
                tried1 = 0
            else:
                gain, ahead = gain1, ahead1
            at = places[start]
            end = cities[(at + 1) % n] if ahead else cities[(at - 1) % n]
            count = 2 + 2 * back
            continue
        if level == 0:
            tried0 += 1
            tried1 = 0
        elif level == 1:
            tried1 += 1
        c = found
        place = places[c]
        if ahead:
            after = cities[(place - 1) % n]
            turned = flip(cities, places, places[end], places[after], log, made)
        else:
            after = cities[(place + 1) % n]
            turned = flip(cities, places, places[after], places[end], log, made)
        made += 1
        if turned:
            ahead = not ahead
        gain = gain - distance(x, y, end, c, home) + distance(x, y, after, c, home)
        touched[count + 1], touched[count + 2] = c, after
        count += 2
        end = after
        level += 1
        if level == 1:
            gain1, ahead1 = gain, ahead
        closed = gain - distance(x, y, end, start, home)
        if closed > best + _TINY:
            best, best_made, best_touched = closed, made, count
    while made > best_made:
        made -= 1
        reverse(cities, places, log[2 * made], log[2 * made + 1])
    touched[0] = best_touched
    return best, made


@kernel
def settle(
    queue: Wholes, waiting: Wholes, heads: Wholes, x: Reals, y: Reals, near: Wholes, wide: int,
    cities: Wholes, places: Wholes, home: int, longest: int, log: Wholes, made: int, keep: bool,
    choice: Reals, touched: Wholes,
) -> tuple[float, int]:  # fmt: skip
    """Searches from every waiting city until none finds anything. `heads` = first and count.

    With `keep` the log grows, so that all can be undone; when it is full the search stops.
    """
    n = len(cities)
    saved = 0.0
    while heads[1] > 0:
        city = queue[heads[0]]
        heads[0] = (heads[0] + 1) % n
        heads[1] -= 1
        waiting[city] = 0
        again = True
        while again:
            again = False
            for direction in range(2):
                if made + DEPTH + 4 >= LOG // 2:
                    if keep:
                        return saved, made
                    made = 0
                got, made = search(
                    city, direction == 0, x, y, near, wide, cities, places, home,
                    longest, log, made, choice, touched,
                )  # fmt: skip
                if got > 0.0:
                    saved += got
                    again = True
                    for k in range(1, touched[0] + 1):
                        other = touched[k]
                        if waiting[other] == 0 and other != city:
                            waiting[other] = 1
                            queue[(heads[0] + heads[1]) % n] = other
                            heads[1] += 1
    return saved, made


@kernel
def improve(
    x: Reals, y: Reals, near: Wholes, wide: int, cities: Wholes, places: Wholes, home: int,
    kicks: int, span: int, longest: int, idle: int, state1: int, state2: int, queue: Wholes, waiting: Wholes,
    heads: Wholes, log: Wholes, choice: Reals, touched: Wholes,
) -> float:  # fmt: skip
    """Shortens the tour in place and gives the length saved. Needs at least 8 cities.

    After a first search without bounds, up to `kicks` kicks of stretches up to `span` cities, each
    mended with reversals up to `longest`; it ends when `idle` kicks in a row were in vain.
    """
    n = len(cities)
    for k in range(n):
        queue[k] = cities[k]
        waiting[k] = 1
    heads[0], heads[1] = 0, n
    total, _ = settle(
        queue, waiting, heads, x, y, near, wide, cities, places, home, n, log, 0, False,
        choice, touched,
    )  # fmt: skip
    vain = 0
    for _ in range(kicks):
        if vain >= idle:
            break
        vain += 1
        # Two neighbouring stretches change places: a double bridge, undone like any move.
        state1 = state1 * A1 % M1
        state2 = state2 * A2 % M2
        draw = (state1 - state2) % (M1 - 1)
        i = draw % n
        draw = draw // n
        one = 1 + draw % span
        draw = draw // span
        two = 1 + draw % span
        ends = (i, (i + 1) % n, (i + one) % n, (i + one + 1) % n, (i + one + two) % n)
        after = (i + one + two + 1) % n
        a, b, c = cities[ends[0]], cities[ends[1]], cities[ends[2]]
        d, e, f = cities[ends[3]], cities[ends[4]], cities[after]
        cost = (
            distance(x, y, a, d, home) + distance(x, y, e, b, home) + distance(x, y, c, f, home)
            - distance(x, y, a, b, home) - distance(x, y, c, d, home) - distance(x, y, e, f, home)
        )  # fmt: skip
        made = 0
        log[0], log[1] = ends[1], ends[2]
        log[2], log[3] = ends[3], ends[4]
        log[4], log[5] = ends[1], ends[4]
        while made < 3:
            reverse(cities, places, log[2 * made], log[2 * made + 1])
            made += 1
        for city in (a, b, c, d, e, f):
            if waiting[city] == 0:
                waiting[city] = 1
                queue[(heads[0] + heads[1]) % n] = city
                heads[1] += 1
        saved, made = settle(
            queue, waiting, heads, x, y, near, wide, cities, places, home, longest, log, made, True,
            choice, touched,
        )  # fmt: skip
        while heads[1] > 0:
            waiting[queue[heads[0]]] = 0
            heads[0] = (heads[0] + 1) % n
            heads[1] -= 1
        if saved - cost > _TINY:
            total += saved - cost
            vain = 0
        else:
            while made > 0:
                made -= 1
                reverse(cities, places, log[2 * made], log[2 * made + 1])
    return total
