"""From placed stones to the holes of stencils, tapes, prick sheets and punch layouts."""

from templater.stencils.passes import make_passes

__all__ = ["make_passes"]
