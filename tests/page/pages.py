"""What the tests of the page do again and again."""

from __future__ import annotations

import json
import re
from dataclasses import replace

from templater.counting import count
from templater.job.schema import Job
from templater.model.ground import Side
from templater.model.stones import PlacedStone, StoneKind

NUMBER = re.compile(r"[\d,]+")


def data_of(page):
    return json.loads(page.locator("#data").text_content())


def read_cautions(page):
    page.get_by_role("button", name="I have read this").click()


def left(page):
    """Stones left, of how many, and patches done, as the head of the page says."""
    words = page.locator("#far").inner_text()
    numbers = [int(n.replace(",", "")) for n in NUMBER.findall(words)]
    return numbers[0], numbers[1], numbers[-2]


def told(page, words):
    """Wait until the page says so of a file of ticks."""
    page.locator("#read", has_text=words).wait_for()


def facts_of(page, where="#chosen"):
    names = page.locator(f"{where} dl dt").all_inner_texts()
    return dict(zip(names, page.locator(f"{where} dl dd").all_inner_texts(), strict=True))


def trays_of(page, where="#chosen"):
    rows = page.locator(f"{where} .trays li").all()
    return [
        (row.locator(".letter").inner_text(), int(row.locator("b").inner_text())) for row in rows
    ]


def many_stones(plan, number):
    """The plan with one lattice of so many stones of four looks instead of its own."""
    across = 150
    looks = [("sea green", "plain"), ("sea green", "ab"), ("mint", "plain"), ("mint", "ab")]
    stones = tuple(
        PlacedStone(
            f"lattice-{i:05d}-left", "lattice", plan.ground.pieces[0].name, Side.LEFT,
            round(4.2 * (i % across) + 2.1 * (i // across % 2), 4), round(3.64 * (i // across), 4),
            0.0, "ss16", 3.9, 3.9, *looks[i % 4], StoneKind.FILL, 0.2,
        )
        for i in range(number)
    )  # fmt: skip
    sizes = {size.name: size for size in plan.sizes}
    counts, _ = count(stones, sizes, Job(drawing="x.svg"))
    return replace(plan, stones=stones, settings=(), counts=counts)
