"""Written files to facts in mm, for checks: nothing here knows what the plan meant to write."""

from templater.readback.pack import load_plan, read_pack

__all__ = ["load_plan", "read_pack"]
