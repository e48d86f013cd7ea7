"""From one drawing of a costume piece to everything the maker cuts, sets and buys."""

__version__ = "0.1.0"
