"""The one interpreter of layers: what a drawing means."""

from templater.ground.build import build_ground

__all__ = ["build_ground"]
