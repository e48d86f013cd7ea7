"""Growing a fill stone by stone, each touching two things already there. Import late.

A queue holds places tangent to two stones (or stone and wall); the best is taken, tried again,
filled, and gives new places. What counts as best decides how tight the fill comes out: the free
way to a third neighbour first, then how near the place is to where the growth began.
"""

from __future__ import annotations

from typing import NamedTuple

from templater.geometry.kernels.compiled import Reals, Wholes, kernel
from templater.geometry.kernels.room import (
    FAR,
    SLACK_MM,
    SPARE_MM,
    Space,
    Stones,
    coarse_cell,
    drawn,
    is_on_fold,
    is_open,
    link,
    put,
    snapped,
    stands_free,
    stone_room,
    unlink,
    wall_room,
)

DONE, MORE_STONES, MORE_PLACES = 0, 1, 2
FROM_WALL, FROM_POINT, ALONG = 0, 1, 2
NEAR = 160
"""Stones looked at around one: far more than fit, unless obstacles lie on each other."""


class Queue(NamedTuple):
    """A binary heap for each size, of `each` places: key (least first), centre, whether on fold."""

    key: Reals
    x: Reals
    y: Reals
    fold: Wholes
    count: Wholes
    each: int


class Taste(NamedTuple):
    """What makes a place good, least first: mm of free way to a third thing (counted from `blunt` up
    to `cap`), plus `way` times the way from where growth began, less the size's `bonus`, plus noise
    up to `noise`; then
    `share` times how far the size is beyond its share. The way is, by `mode`: FROM_WALL, the way to
    the nearest wall, whose number `nearest` holds for each fine cell; FROM_POINT, to (x, y);
    ALONG, how far on a point lies in direction (x, y). Places at walls are offered if `at_walls`.
    """

    way: float
    bonus: Reals
    noise: float
    share: float
    blunt: float
    cap: float
    at_walls: bool
    shares: Reals
    nearest: Wholes
    x: float
    y: float
    mode: int


class Bench(NamedTuple):
    """Working columns of one run: neighbours' numbers, squared ways, places and grown radii; the random
    state; stones set of each size; the disc outside which no place is offered (x, y, radius²).
    """

    near: Wholes
    far: Reals
    x: Reals
    y: Reals
    grown: Reals
    state: Wholes
    counts: Wholes
    focus: Reals


@kernel
def push(queue: Queue, size: int, key: float, x: float, y: float, fold: int) -> None:
    """Adds a place to a size's heap, which must have room."""
    base = size * queue.each
    at = queue.count[size]
    queue.count[size] += 1
    while at > 0:
        up = (at - 1) // 2
        if queue.key[base + up] <= key:
            break
        queue.key[base + at] = queue.key[base + up]
        queue.x[base + at] = queue.x[base + up]
        queue.y[base + at] = queue.y[base + up]
        queue.fold[base + at] = queue.fold[base + up]
        at = up
    queue.key[base + at] = key
    queue.x[base + at] = x
    queue.y[base + at] = y
    queue.fold[base + at] = fold


@kernel
def drop_first(queue: Queue, size: int) -> None:
    """Takes the best place off a size's heap."""
    base = size * queue.each
    queue.count[size] -= 1
    count = queue.count[size]
    if count == 0:
        return
    last = base + count
    key = queue.key[last]
    at = 0
    while True:
        down = 2 * at + 1
        if down >= count:
            break
        if down + 1 < count and queue.key[base + down + 1] < queue.key[base + down]:
            down += 1
        if queue.key[base + down] >= key:
            break
        queue.key[base + at] = queue.key[base + down]
        queue.x[base + at] = queue.x[base + down]
        queue.y[base + at] = queue.y[base + down]
        queue.fold[base + at] = queue.fold[base + down]
        at = down
    queue.key[base + at] = key
    queue.x[base + at] = queue.x[last]
    queue.y[base + at] = queue.y[last]
    queue.fold[base + at] = queue.fold[last]


@kernel
def gather(space: Space, stones: Stones, bench: Bench, x: float, y: float, reach: float) -> int:
    """Lists on the bench the stones whose grown edge comes within `reach` of a point; how many.

    Nearest first: who stands in the way is found soonest.
    """
    wide = reach + space.step * 0.5
    i0 = max(int((x - wide - space.x0) / space.step), 0)
    j0 = max(int((y - wide - space.y0) / space.step), 0)
    i1 = min(int((x + wide - space.x0) / space.step), space.nx - 1)
    j1 = min(int((y + wide - space.y0) / space.step), space.ny - 1)
    count = 0
    for j in range(j0, j1 + 1):
        for i in range(i0, i1 + 1):
            k = stones.first[j * space.nx + i]
            while k >= 0:
                px = stones.x[k] - x
                py = stones.y[k] - y
                far = reach + stones.grown[k]
                squared = px * px + py * py
                if squared < far * far and count < NEAR:
                    at = count
                    while at > 0 and bench.far[at - 1] > squared:
                        bench.far[at] = bench.far[at - 1]
                        bench.near[at] = bench.near[at - 1]
                        at -= 1
                    bench.far[at] = squared
                    bench.near[at] = k
                    count += 1
                k = stones.after[k]
    for at in range(count):
        k = bench.near[at]
        bench.x[at] = stones.x[k]
        bench.y[at] = stones.y[k]
        bench.grown[at] = stones.grown[k]
    return count


@kernel
def offer(
    space: Space,
    queue: Queue,
    taste: Taste,
    bench: Bench,
    count: int,
    x: float,
    y: float,
    size: int,
    fold: bool,
) -> None:
    """Puts a place in the queue if a stone may stand there; the bench holds all who could object."""
    px = x - bench.focus[0]
    py = y - bench.focus[1]
    if px * px + py * py > bench.focus[2]:
        return
    x = snapped(x)
    y = snapped(y)
    grown = space.grown[size]
    near = 1e9
    second = 1e9
    third = 1e9
    for k in range(count):
        px = x - bench.x[k]
        py = y - bench.y[k]
        touch = bench.grown[k] + grown
        squared = px * px + py * py
        reach = third + touch
        if squared >= reach * reach:
            continue
        free = squared**0.5 - touch
        if free < -SLACK_MM:
            return
        if free < second:
            third = second
            if free < near:
                second = near
                near = free
            else:
                second = free
        else:
            third = free
    if fold:
        if not is_on_fold(space, x, y, size):
            return
    elif not is_open(space, x, y, size):
        return
    wall = wall_room(space, x, y, size, fold)
    if wall < -SLACK_MM:
        return
    if wall < second:
        third = second
    elif wall < third:
        third = wall
    third = max(min(third, taste.cap), taste.blunt)
    way = way_at(space, taste, x, y)
    key = third + taste.way * way - taste.bonus[size]
    if taste.noise > 0.0:
        key += taste.noise * drawn(bench.state)
    push(queue, size, key, x, y, 1 if fold else 0)


@kernel
def offer_around(
    space: Space,
    stones: Stones,
    queue: Queue,
    taste: Taste,
    bench: Bench,
    sx: float,
    sy: float,
    grown: float,
) -> None:
    """Puts in the queue every place that touches a stone here and one thing more.

    The stone is one of `stones`: on the bench it comes first, being nearest to itself.
    """
    most = 0.0
    for s in range(len(space.grown)):
        most = max(most, space.grown[s])
    count = gather(space, stones, bench, sx, sy, grown + 2.0 * most + 1e-3)
    for s in range(len(space.grown)):
        mine = grown + space.grown[s] + SPARE_MM
        for k in range(count):
            px = bench.x[k] - sx
            py = bench.y[k] - sy
            squared = px * px + py * py
            theirs = bench.grown[k] + space.grown[s] + SPARE_MM
            if squared < 1e-6 or squared > (mine + theirs) * (mine + theirs):
                continue
            along = (squared + mine * mine - theirs * theirs) / (2.0 * squared)
            rest = mine * mine / squared - along * along
            if rest < 0.0:
                continue
            aside = rest**0.5
            mx = sx + along * px
            my = sy + along * py
            offer(
                space,
                queue,
                taste,
                bench,
                count,
                mx - aside * py,
                my + aside * px,
                s,
                False,
            )
            offer(
                space,
                queue,
                taste,
                bench,
                count,
                mx + aside * py,
                my - aside * px,
                s,
                False,
            )
        if taste.at_walls:
            offer_at_walls(space, queue, taste, bench, count, sx, sy, mine, s)
        if len(space.on_from) > 0:
            t = (sx - space.fold_x) * space.fold_dx + (sy - space.fold_y) * space.fold_dy
            fx = space.fold_x + t * space.fold_dx
            fy = space.fold_y + t * space.fold_dy
            rest = mine * mine - (sx - fx) * (sx - fx) - (sy - fy) * (sy - fy)
            if rest > 0.0:
                half = rest**0.5
                for side in (-half, half):
                    x = fx + side * space.fold_dx
                    y = fy + side * space.fold_dy
                    offer(space, queue, taste, bench, count, x, y, s, True)


@kernel
def offer_at_walls(
    space: Space,
    queue: Queue,
    taste: Taste,
    bench: Bench,
    count: int,
    sx: float,
    sy: float,
    mine: float,
    size: int,
) -> None:
    """Puts in the queue the places at distance `mine` from a point that touch a wall."""
    i0 = max(int((sx - mine - space.x0) / space.step), 0)
    j0 = max(int((sy - mine - space.y0) / space.step), 0)
    i1 = min(int((sx + mine - space.x0) / space.step), space.nx - 1)
    j1 = min(int((sy + mine - space.y0) / space.step), space.ny - 1)
    for j in range(j0, j1 + 1):
        for i in range(i0, i1 + 1):
            cell = j * space.nx + i
            for item in range(space.wall_from[cell], space.wall_from[cell + 1]):
                w = space.wall_item[item]
                limit = space.wall_limit[w]
                if limit >= 0.0 and space.height[size] <= limit:
                    continue
                apart = space.radius[size] + space.wall_clear[w] + SPARE_MM
                ux = space.wall_dx[w] * space.wall_unit[w]
                uy = space.wall_dy[w] * space.wall_unit[w]
                px = sx - space.wall_x[w]
                py = sy - space.wall_y[w]
                aside = ux * py - uy * px
                along = ux * px + uy * py
                length = ux * space.wall_dx[w] + uy * space.wall_dy[w]
                far = mine + apart
                if abs(aside) > far or along < -far or along > length + far:
                    continue
                for side in (-apart, apart):
                    rest = mine * mine - (aside - side) * (aside - side)
                    if rest <= 0.0 or length == 0.0:
                        continue
                    half = rest**0.5
                    for t in (along - half, along + half):
                        if 0.0 <= t <= length:
                            x = space.wall_x[w] + t * ux - side * uy
                            y = space.wall_y[w] + t * uy + side * ux
                            if coarse_cell(space, x, y) == cell:
                                offer(space, queue, taste, bench, count, x, y, size, False)
                squared = px * px + py * py
                if along > apart or squared < 1e-6 or squared > far * far:
                    continue
                part = (squared + mine * mine - apart * apart) / (2.0 * squared)
                rest = mine * mine / squared - part * part
                if rest <= 0.0:
                    continue
                half = rest**0.5
                for turn in (-half, half):
                    x = sx - part * px - turn * py
                    y = sy - part * py + turn * px
                    t = (x - space.wall_x[w]) * ux + (y - space.wall_y[w]) * uy
                    if t <= 0.0 and coarse_cell(space, x, y) == cell:
                        offer(space, queue, taste, bench, count, x, y, size, False)


@kernel
def offer_seeds(
    space: Space,
    stones: Stones,
    queue: Queue,
    taste: Taste,
    bench: Bench,
    xs: Reals,
    ys: Reals,
    sizes: Wholes,
) -> None:
    """Puts given places in the queue where a stone may stand."""
    for k in range(len(xs)):
        size = sizes[k]
        count = gather(space, stones, bench, xs[k], ys[k], space.grown[size])
        offer(space, queue, taste, bench, count, xs[k], ys[k], size, False)


@kernel
def grow(space: Space, stones: Stones, queue: Queue, taste: Taste, bench: Bench) -> int:
    """Fills from the queue until it is empty (DONE) or a column is full."""
    sizes = len(space.grown)
    while True:
        if stones.held[0] >= len(stones.x):
            return MORE_STONES
        best = -1
        least = FAR
        total = 1.0
        for s in range(sizes):
            total += bench.counts[s]
        for s in range(sizes):
            if queue.count[s] + 6 * NEAR >= queue.each:
                return MORE_PLACES
            if queue.count[s] > 0:
                beyond = bench.counts[s] / total - taste.shares[s]
                key = queue.key[s * queue.each] + taste.share * beyond
                if key < least:
                    least = key
                    best = s
        if best < 0:
            return DONE
        x = queue.x[best * queue.each]
        y = queue.y[best * queue.each]
        fold = queue.fold[best * queue.each]
        drop_first(queue, best)
        if stands_free(space, stones, x, y, best, fold == 1, -1):
            put(space, stones, x, y, best, fold)
            bench.counts[best] += 1
            offer_around(space, stones, queue, taste, bench, x, y, space.grown[best])


@kernel
def offer_beside(
    space: Space, stones: Stones, queue: Queue, taste: Taste, bench: Bench, first: int
) -> int:
    """Puts the places around stones from number `first` on in the queue; the first not done."""
    for k in range(first, stones.held[0]):
        for s in range(len(space.grown)):
            if queue.count[s] + 6 * NEAR >= queue.each:
                return k
        if stones.size[k] != -2:
            x = stones.x[k]
            y = stones.y[k]
            offer_around(space, stones, queue, taste, bench, x, y, stones.grown[k])
    return int(stones.held[0])


@kernel
def weed(space: Space, stones: Stones, queue: Queue) -> None:
    """Drops from the queue the places that have been taken meanwhile."""
    for s in range(len(space.grown)):
        base = s * queue.each
        count = queue.count[s]
        queue.count[s] = 0
        for k in range(count):
            x = queue.x[base + k]
            y = queue.y[base + k]
            fold = queue.fold[base + k]
            if stands_free(space, stones, x, y, s, fold == 1, -1):
                push(queue, s, queue.key[base + k], x, y, fold)


@kernel
def wall_way(space: Space, w: int, x: float, y: float) -> float:
    """The way from a point to a wall."""
    px = x - space.wall_x[w]
    py = y - space.wall_y[w]
    t = (px * space.wall_dx[w] + py * space.wall_dy[w]) * space.wall_over[w]
    t = min(max(t, 0.0), 1.0)
    px -= t * space.wall_dx[w]
    py -= t * space.wall_dy[w]
    return float((px * px + py * py) ** 0.5)


@kernel
def way_at(space: Space, taste: Taste, x: float, y: float) -> float:
    """How far a point is from where growth began, as the taste has it."""
    if taste.mode == FROM_WALL:
        u = int((x - space.fine_x) / space.fine)
        v = int((y - space.fine_y) / space.fine)
        u = min(max(u, 0), space.fine_nx - 1)
        v = min(max(v, 0), space.fine_ny - 1)
        w = taste.nearest[v * space.fine_nx + u]
        return 0.0 if w < 0 else wall_way(space, w, x, y)
    if taste.mode == FROM_POINT:
        px = x - taste.x
        py = y - taste.y
        return float((px * px + py * py) ** 0.5)
    return float(x * taste.x + y * taste.y)


@kernel
def nearest_walls(space: Space, nearest: Wholes, ways: Reals) -> None:
    """For each fine cell the wall nearest to its centre, handed on from cell to cell.

    Both columns come with what is known at first: the walls near each cell, −1 and FAR elsewhere.
    Nearly always the nearest: good for a preference, not for a clearance.
    Source: P.-E. Danielsson, Euclidean distance mapping, CGIP 14, 1980.
    """
    nx = space.fine_nx
    ny = space.fine_ny
    for w in range(len(space.wall_x)):
        if space.wall_limit[w] >= 0.0:
            continue
        far = (space.wall_dx[w] * space.wall_dx[w] + space.wall_dy[w] * space.wall_dy[w]) ** 0.5
        steps = int(far / space.fine * 2.0) + 1
        for k in range(steps + 1):
            x = space.wall_x[w] + space.wall_dx[w] * k / steps
            y = space.wall_y[w] + space.wall_dy[w] * k / steps
            i = min(max(int((x - space.fine_x) / space.fine), 0), nx - 1)
            j = min(max(int((y - space.fine_y) / space.fine), 0), ny - 1)
            c = j * nx + i
            cx = space.fine_x + (i + 0.5) * space.fine
            cy = space.fine_y + (j + 0.5) * space.fine
            way = wall_way(space, w, cx, cy)
            if way < ways[c]:
                ways[c] = way
                nearest[c] = w
    for sweep in range(2):
        for jj in range(ny):
            j = jj if sweep == 0 else ny - 1 - jj
            back = -1 if sweep == 0 else 1
            for turn in range(2):
                for ii in range(nx):
                    i = ii if turn == 0 else nx - 1 - ii
                    c = j * nx + i
                    cx = space.fine_x + (i + 0.5) * space.fine
                    cy = space.fine_y + (j + 0.5) * space.fine
                    for k in range(4):
                        u = i + (k - 1 if k < 3 else (-1 if turn == 0 else 1))
                        v = j + back if k < 3 else j
                        if 0 <= u < nx and 0 <= v < ny:
                            w = nearest[v * nx + u]
                            if w >= 0 and w != nearest[c]:
                                way = wall_way(space, w, cx, cy)
                                if way < ways[c]:
                                    ways[c] = way
                                    nearest[c] = w


@kernel
def close_up(space: Space, stones: Stones, gap: int) -> None:
    """Moves the last stone to the place of one taken out, so that columns do not fill with blanks."""
    last = int(stones.held[0]) - 1
    while last >= 0 and stones.size[last] == -2:
        last -= 1
    stones.held[0] = last + 1
    if gap < last:
        unlink(space, stones, last)
        stones.x[gap] = stones.x[last]
        stones.y[gap] = stones.y[last]
        stones.grown[gap] = stones.grown[last]
        stones.size[gap] = stones.size[last]
        stones.on_fold[gap] = stones.on_fold[last]
        link(space, stones, gap)
        stones.held[0] = last


@kernel
def renew(
    space: Space,
    stones: Stones,
    queue: Queue,
    taste: Taste,
    bench: Bench,
    lost: Wholes,
    worth: Reals,
    x: float,
    y: float,
    reach: float,
    heat: float,
) -> float:
    """Clears a disc and fills it again; keeps what covers more (or less by `heat` at most), else
    puts back what was.

    Returns what was won in worth, 0.0 if nothing. The queue is used as if empty. `lost` is a
    working column of NEAR. Does nothing when a column is too short.
    """
    count = 0
    before = 0.0
    gone = gather(space, stones, bench, x, y, reach)
    for k in range(gone):
        number = bench.near[k]
        if bench.far[k] < reach * reach and stones.size[number] >= 0:
            lost[count] = number
            before += worth[stones.size[number]]
            count += 1
    if count == 0 or stones.held[0] + 3 * count + 8 > len(stones.x):
        return 0.0
    for k in range(count):
        unlink(space, stones, lost[k])
        bench.counts[stones.size[lost[k]]] -= 1
    for s in range(len(space.grown)):
        queue.count[s] = 0
    held = int(stones.held[0])
    most = 0.0
    for s in range(len(space.grown)):
        most = max(most, space.grown[s])
    bench.focus[0] = x
    bench.focus[1] = y
    bench.focus[2] = (reach + most) * (reach + most)
    rim = gather(space, stones, bench, x, y, reach + 2.0 * most)
    for k in range(rim):
        lost[count + k] = bench.near[k]
    for k in range(rim):
        number = lost[count + k]
        sx = stones.x[number]
        sy = stones.y[number]
        offer_around(space, stones, queue, taste, bench, sx, sy, stones.grown[number])
    code = grow(space, stones, queue, taste, bench)
    bench.focus[2] = FAR * FAR
    after = 0.0
    for k in range(held, stones.held[0]):
        after += worth[stones.size[k]]
    if code != DONE or after < before - heat * drawn(bench.state) - 1e-9:
        for k in range(held, stones.held[0]):
            unlink(space, stones, k)
            bench.counts[stones.size[k]] -= 1
        stones.held[0] = held
        for k in range(count):
            link(space, stones, lost[k])
            bench.counts[stones.size[lost[k]]] += 1
        return 0.0
    for k in range(count):
        stones.size[lost[k]] = -2
    for k in range(count):
        close_up(space, stones, lost[k])
    return float(after - before)


@kernel
def renew_many(
    space: Space,
    stones: Stones,
    queue: Queue,
    taste: Taste,
    bench: Bench,
    lost: Wholes,
    worth: Reals,
    reach: float,
    heat: float,
    tries: int,
    looks: int,
) -> float:
    """Renews discs, each around the barest of some spots drawn at random; the worth won."""
    won = 0.0
    fixed = int(stones.held[1])
    for turn in range(tries):
        best = -FAR
        x = 0.0
        y = 0.0
        for _ in range(looks):
            k = fixed + int(drawn(bench.state) * (stones.held[0] - fixed))
            sx = stones.x[k] + (drawn(bench.state) - 0.5) * 6.0 * stones.grown[k]
            sy = stones.y[k] + (drawn(bench.state) - 0.5) * 6.0 * stones.grown[k]
            if stones.size[k] >= 0 and is_open(space, sx, sy, stones.size[k]):
                room = stone_room(space, stones, sx, sy, 0.0, -1)
                if room > best:
                    best = room
                    x = sx
                    y = sy
        if best > -FAR:
            won += renew(
                space,
                stones,
                queue,
                taste,
                bench,
                lost,
                worth,
                x,
                y,
                reach,
                heat * (1.0 - turn / tries),
            )
    return won
