"""Which pages of the printed PDFs show a sheet: told by a file's name, or by the texts of a page."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable

from templater.model.facts import SheetFacts
from templater.model.formats import sheet_stem
from templater.model.sheets import Sheet

_TITLE = re.compile(r"(.*?)…?, sheet (\d+) of (\d+)\b.*")


class Printed:
    """A pack's printed pages, grouped once: what one sheet costs does not grow with the others."""

    def __init__(self, pages: Iterable[SheetFacts]) -> None:
        self._pages = tuple(pages)
        self._of_file: defaultdict[str, list[int]] = defaultdict(list)
        # By file, number and count of sheets; then by the title, which may have been cut short.
        self._said: defaultdict[tuple[str, str, str], defaultdict[str, list[int]]] = defaultdict(
            lambda: defaultdict(list)
        )
        for index, page in enumerate(self._pages):
            of = sheet_stem(page.file)
            self._of_file[of].append(index)
            for text in page.texts:
                said = _TITLE.fullmatch(text.text)
                if said and said[1]:
                    self._said[of, said[2], said[3]][said[1]].append(index)

    def in_files(self, stems: Iterable[str]) -> set[int]:
        """The numbers of all pages of the files so named, without their ending."""
        return {index for of in stems for index in self._of_file.get(of, ())}

    def naming(self, sheet: Sheet, stems: Iterable[str]) -> set[int]:
        """The numbers of those pages of the files of which a text names the sheet, by its title, or
        the beginning of a long one, and its number.
        """
        found: set[int] = set()
        for of in stems:
            said = self._said.get((of, str(sheet.number), str(sheet.of)))
            if said is not None:
                for long in range(1, len(sheet.title) + 1):
                    found.update(said.get(sheet.title[:long], ()))
        return found

    def pages(self, numbers: Iterable[int]) -> tuple[SheetFacts, ...]:
        """These pages, in the order in which they are in the pack."""
        return tuple(self._pages[index] for index in sorted(numbers))
