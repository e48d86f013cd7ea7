"""Finding the places that touch two things, and queueing those that are free. Import late."""

from __future__ import annotations

from typing import NamedTuple

from templater.geometry.kernels.compiled import Reals, Wholes, kernel
from templater.geometry.kernels.heap import Queue, push
from templater.geometry.kernels.room import (
    SLACK_MM,
    SPARE_MM,
    Space,
    Stones,
    coarse_cell,
    drawn,
    is_on_fold,
    is_open,
    snapped,
    wall_room,
)
from templater.geometry.kernels.ways import Taste, way_at

NEAR = 160
"""Stones looked at around one: far more than fit, unless obstacles lie on each other."""


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
    alike = 0
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
        if free < 0.1 and abs(bench.grown[k] - grown) < 1e-9:
            alike += 1
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
    key = third + taste.way * way - taste.bonus[size] + taste.alike * max(alike - 1, 0)
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
            for side in (-aside, aside):
                x = mx + side * py
                y = my - side * px
                offer(space, queue, taste, bench, count, x, y, s, False)
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
        size = int(sizes[k])  # one kind of whole number: nothing is compiled twice
        count = gather(space, stones, bench, xs[k], ys[k], space.grown[size])
        offer(space, queue, taste, bench, count, xs[k], ys[k], size, False)
