"""Appliqué pieces and pattern pieces as parts to be cut, with their marks and labels."""

from templater.applique.parts import make_parts

__all__ = ["make_parts"]
