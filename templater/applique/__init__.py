"""Appliqué pieces and pattern pieces as parts to be cut, with their marks, labels and placing."""

from templater.applique.parts import make_parts
from templater.applique.placing import placement
from templater.applique.walking import walked

__all__ = ["make_parts", "placement", "walked"]
