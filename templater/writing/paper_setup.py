"""The paper in the maker's printer."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PaperSetup:
    """The maker's paper as it lies in the printer: size, unprintable margin, correction in x and y."""

    paper_mm: tuple[float, float]
    margin_mm: float
    calibrate: tuple[float, float]
    display: str

    def turned(self) -> PaperSetup:
        """The same paper laid sideways: the printer's x and y change places."""
        (width, height), (x, y) = self.paper_mm, self.calibrate
        return PaperSetup((height, width), self.margin_mm, (y, x), self.display)

    @property
    def usable_mm(self) -> tuple[float, float]:
        """What can be printed on, in true mm (after correction)."""
        (width, height), (x, y) = self.paper_mm, self.calibrate
        return ((width - 2.0 * self.margin_mm) / x, (height - 2.0 * self.margin_mm) / y)
