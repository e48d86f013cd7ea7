"""Which letters of a pack no font has, and where they stand."""

from __future__ import annotations

from collections.abc import Iterator

from templater.lettering import missing_letters
from templater.model.plan import Plan
from templater.model.problems import Problem, Problems, Severity
from templater.model.sheets import Lettering

_MOST_PLACES = 3


def lettering_problems(plan: Plan) -> Problems:
    """One warning for all letters that are drawn as an empty box."""
    lost: dict[str, None] = {}
    places: list[str] = []
    for place, texts in _texts(plan):
        found = missing_letters("".join(dict.fromkeys("".join(texts))))
        if found:
            lost |= dict.fromkeys(found)
            places.append(place)
    if not lost:
        return ()
    shown = " ".join(letter if letter.isprintable() else repr(letter) for letter in lost)
    where = ", ".join(places[:_MOST_PLACES])
    more = len(places) - _MOST_PLACES
    message = (
        f"no font on this machine has {shown} (in {where}{f' and {more} more' if more > 0 else ''}); "
        "an empty box stands in their place"
    )
    mend = (
        'Install a font that has them, or name its file in the job: font = "letters.ttf" under '
        "[templates]; else write the names with other letters."
    )
    return (Problem("letter-missing", Severity.WARNING, message, mend),)


def _texts(plan: Plan) -> Iterator[tuple[str, list[str]]]:
    """Every text that is drawn, by where it stands."""
    for sheet in plan.sheets:
        items = (item for layer in sheet.layers for item in layer.items)
        yield f"sheet {sheet.name}", [item.text for item in items if isinstance(item, Lettering)]
    yield "the bench book", names_in_book(plan)


def names_in_book(plan: Plan) -> list[str]:
    """The maker's own words that the bench book shows."""
    names = {plan.name}
    names.update(text for stone in plan.stones for text in (stone.zone, stone.colour, stone.finish))
    names.update(text for part in plan.parts for text in (part.piece, part.fabric))
    return sorted(names)
