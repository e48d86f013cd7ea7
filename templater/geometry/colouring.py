"""Parting the nodes of a conflict graph into few classes, and a bound that says how few it can be.

A graph is a sequence of neighbour lists. Every choice is settled by the nodes' numbers, so that
the same graph is always parted alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from heapq import heapify, heappop, heappush

Graph = Sequence[Sequence[int]]
_ROUNDS = 60
_CLIQUE_STEPS = 200_000


def graph_of(count: int, pairs: Iterable[tuple[int, int]]) -> list[list[int]]:
    """The neighbour lists, sorted, of `count` nodes joined by `pairs`."""
    neighbours: list[list[int]] = [[] for _ in range(count)]
    for i, j in pairs:
        neighbours[i].append(j)
        neighbours[j].append(i)
    for near in neighbours:
        near.sort()
    return neighbours


def colour(graph: Graph) -> tuple[list[int], int]:
    """A class for every node, and the bound: no parting has fewer classes than that.

    The fewer of DSATUR (Brélaz 1979) and smallest-last (Matula and Beck 1983); then, while it lies
    above the largest clique found, iterated greedy recolouring (Culberson and Luo 1996), which
    never makes more; at last the classes are balanced. Classes are numbered from 0 in the order
    of their lowest nodes.
    """
    bound = clique_bound(graph)
    best = min((dsatur(graph), smallest_last(graph)), key=_classes)
    if _classes(best) > bound:
        best = _iterated(graph, best, bound)
    return _renumbered(_balanced(graph, best)), bound


def _classes(colours: Sequence[int]) -> int:
    return max(colours, default=-1) + 1


def _lowest_free(graph: Graph, colours: Sequence[int], node: int) -> int:
    taken = {colours[near] for near in graph[node]}
    colour_number = 0
    while colour_number in taken:
        colour_number += 1
    return colour_number


def dsatur(graph: Graph) -> list[int]:
    """Colours the node that sees most colours first; ties by neighbours not yet coloured, then number."""
    colours = [-1] * len(graph)
    seen: list[set[int]] = [set() for _ in graph]
    open_near = [len(near) for near in graph]
    queue = [(0, -open_near[node], node) for node in range(len(graph))]
    heapify(queue)
    while queue:
        saturation, degree, node = heappop(queue)
        if colours[node] >= 0 or (-saturation, -degree) != (len(seen[node]), open_near[node]):
            continue
        colours[node] = _lowest_free(graph, colours, node)
        for near in graph[node]:
            if colours[near] < 0:
                seen[near].add(colours[node])
                open_near[near] -= 1
                heappush(queue, (-len(seen[near]), -open_near[near], near))
    return colours


def degeneracy_order(graph: Graph) -> list[int]:
    """Nodes so ordered that each has fewest neighbours among those before it."""
    left = [len(near) for near in graph]
    gone = [False] * len(graph)
    queue = [(degree, node) for node, degree in enumerate(left)]
    heapify(queue)
    order = []
    while queue:
        degree, node = heappop(queue)
        if gone[node] or degree != left[node]:
            continue
        gone[node] = True
        order.append(node)
        for near in graph[node]:
            if not gone[near]:
                left[near] -= 1
                heappush(queue, (left[near], near))
    order.reverse()
    return order


def smallest_last(graph: Graph) -> list[int]:
    """Greedy colouring in degeneracy order."""
    return _greedy(graph, degeneracy_order(graph))


def _greedy(graph: Graph, order: Sequence[int]) -> list[int]:
    colours = [-1] * len(graph)
    for node in order:
        colours[node] = _lowest_free(graph, colours, node)
    return colours


def _iterated(graph: Graph, colours: list[int], bound: int) -> list[int]:
    """Recolours class by class, the classes reordered each round by fixed rules in turn."""
    best = colours
    for turn in range(_ROUNDS):
        groups: list[list[int]] = [[] for _ in range(_classes(colours))]
        for node, number in enumerate(colours):
            groups[number].append(node)
        if turn % 3 == 0:
            groups.reverse()
        elif turn % 3 == 1:
            groups.sort(key=lambda group: (-len(group), group[0]))
        else:
            shift = turn % len(groups)
            groups = groups[shift:] + groups[:shift]
        colours = _greedy(graph, [node for group in groups for node in group])
        if _classes(colours) < _classes(best):
            best = colours
        if _classes(best) <= bound:
            break
    return best


def _balanced(graph: Graph, colours: Sequence[int]) -> list[int]:
    """Moves nodes from fuller classes to emptier ones that hold none of their neighbours."""
    colours = list(colours)
    counts = [0] * _classes(colours)
    for number in colours:
        counts[number] += 1
    moved = True
    while moved:
        moved = False
        for node, number in enumerate(colours):
            taken = {colours[near] for near in graph[node]}
            free = [other for other in range(len(counts)) if other not in taken]
            target = min(free, key=lambda other: (counts[other], other))
            if counts[target] + 1 < counts[number]:
                colours[node] = target
                counts[number] -= 1
                counts[target] += 1
                moved = True
    return colours


def _renumbered(colours: Sequence[int]) -> list[int]:
    numbers: dict[int, int] = {}
    for number in colours:
        numbers.setdefault(number, len(numbers))
    return [numbers[number] for number in colours]


def clique_bound(graph: Graph) -> int:
    """The size of the largest clique found: exact unless the search reaches its fixed effort.

    Each node with those of its neighbours that stand before it in degeneracy order, searched by
    branch and bound on bit masks.
    """
    order = degeneracy_order(graph)
    rank = [0] * len(graph)
    for place, node in enumerate(order):
        rank[node] = place
    best, steps = (1 if len(graph) else 0), _CLIQUE_STEPS
    for node in order:
        before = [near for near in graph[node] if rank[near] < rank[node]]
        if len(before) < best:
            continue
        bit = {near: 1 << place for place, near in enumerate(before)}
        masks = [sum(bit.get(other, 0) for other in graph[near]) for near in before]
        found, steps = _largest_clique(masks, (1 << len(before)) - 1, 1, best, steps)
        best = max(best, found)
    return best


def _largest_clique(
    masks: Sequence[int], open_mask: int, size: int, best: int, steps: int
) -> tuple[int, int]:
    while open_mask and steps > 0:
        if size + open_mask.bit_count() <= best:
            return best, steps
        lowest = open_mask & -open_mask
        open_mask ^= lowest
        steps -= 1
        inner = open_mask & masks[lowest.bit_length() - 1]
        best, steps = _largest_clique(masks, inner, size + 1, best, steps)
    return max(best, size), steps
