"""What a sheet says of the stones that are poured through it."""

from collections import Counter
from dataclasses import replace

from templater.model.parts import HoleKind
from templater.sheets.templates import _facts


def film_pass(made):
    return next(p for p in made.passes if p.kind is HoleKind.STENCIL and p.method == "film")


def test_a_mix_is_counted_by_colour_and_finish(fold_made):
    one = film_pass(fold_made)
    stones = {stone.id: stone for stone in fold_made.stones}
    for number, hole in enumerate(one.holes):
        stones[hole.stone_id] = stones[hole.stone_id]._replace(
            finish="plain" if number % 3 else "ab"
        )
    finishes = Counter(stones[hole.stone_id].finish for hole in one.holes)
    said = _facts(one, stones, (), fold_made.job)[0]
    (size,) = one.sizes
    assert (
        f"{len(one.holes)} {size} (mix {finishes['plain']} green plain, {finishes['ab']} green ab)"
        in said
    )


def test_one_kind_is_not_to_be_mixed_and_a_lot_is_named(fold_made):
    one = replace(film_pass(fold_made), lot=("green", "plain"))
    stones = {stone.id: stone for stone in fold_made.stones}
    said = _facts(one, stones, (), fold_made.job)[0]
    assert "mix" not in said
    assert "green, plain" in said


def test_a_tape_says_how_thin_its_film_must_be_and_that_it_shows_mirrored(fold_made):
    one = replace(film_pass(fold_made), method="tape", sizes=("ss20", "ss12"))
    stones = {stone.id: stone for stone in fold_made.stones}
    facts = _facts(one, stones, (), fold_made.job)
    assert "film thinner than 1.05 mm, the lowest stone" in facts[0]
    assert "largest size swept in first" in facts[1]
    assert "shows mirrored" in facts[1]
    assert "Hot iron" in facts[2]
    assert "PVC" in facts[2]
