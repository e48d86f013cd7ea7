"""`sizes`: the stone sizes it knows, with their sources."""

from __future__ import annotations

import click

from templater.catalogue.sizes import all_sizes, sources


def tell_sizes() -> None:
    click.echo(f"{'size':<18}{'smallest':>10}{'planned':>12}{'largest':>10}{'height':>8}  source")
    for size in all_sizes():
        planned = (
            f"{size.length_mm:.2f}" if size.is_round else f"{size.length_mm:g} × {size.width_mm:g}"
        )
        click.echo(
            f"{size.name:<18}{size.smallest_mm:>10.2f}{planned:>12}{size.largest_width_mm:>10.2f}"
            f"{size.height_mm:>8.2f}  {size.source}"
        )
    click.echo("\nAll in mm; heights are the upper end, from memory. Sources:")
    for mark, source in sources():
        click.echo(f"  {mark:<8} {source}")
