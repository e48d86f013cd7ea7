"""A job file for a drawing, every choice commented, ready to be edited by its maker."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence

from templater.ground.proposals import Proposal
from templater.ground.survey import Survey
from templater.model.roles import Role

_COLOURS = ("sea green", "navy", "mint", "silver", "violet", "amber")


def start_text(found: Survey, drawing: str, styles: Sequence[str]) -> str:
    """The text of a job that can be made as it stands, if the drawing's layers have roles.

    What layers without a role may be stands there as comments: nothing is guessed unasked.
    """
    return "\n".join(_lines(found, drawing, styles)) + "\n"


def _lines(found: Survey, drawing: str, styles: Sequence[str]) -> Iterator[str]:
    title = re.sub(r"[\s_-]+", " ", drawing.rpartition("/")[2].rpartition(".")[0]).strip()
    yield f'# A job for {drawing}. Lengths are mm, or text such as "3/8 in".'
    yield "# Every key but drawing has a default; those shown with # are the defaults."
    yield "job = 1"
    yield f"name = {_text(title[:1].upper() + title[1:])}"
    yield f"drawing = {_text(drawing)}"
    yield '# unit = "mm"              # only if the drawing does not say: mm, cm, in, pt, px'
    yield '# measured = { layer = "edge top", length = 212.0 }   # or scale it by one length you measured'
    yield "seed = 1                   # another number gives another scatter of the same stones"
    shown = 'display = "in"            ' if found.in_inches else '# display = "mm"           '
    yield f"{shown}# mm | in: what people read; files stay mm"
    if found.zones:
        yield f"order = {_list([zone.name for zone in found.zones])}   # from below to above"
    yield '# overlap = "refuse"       # refuse | top: where zones lie over each other the later one wins'
    yield from _layers(found)
    for piece in found.pieces:
        if piece.bbox_mm is not None:
            yield from _piece(
                piece.name,
                piece.has_fold,
                list(dict.fromkeys(e.name for e in found.edges if e.piece == piece.name)),
            )
    for zone in found.zones:
        yield ""
        yield from _zone(zone.name)
    for index, zone in enumerate(found.zones):
        yield ""
        yield from _stoning(zone.name, index, styles)
    yield from _proposed(found.proposals, len(found.zones), styles)
    for row in dict.fromkeys(row.name for row in found.rows):
        yield ""
        yield f"[rows.{_key(row)}]"
        yield 'stone = "navette 10x5"     # or a list, to graduate along the line'
        yield 'turn = "along"             # along | across | degrees | [from, to]'
        yield "gap = 0.5"
        yield 'colour = "navy"'
    yield ""
    yield "[clear]"
    yield "margin = 3.0               # beyond every clear shape"
    yield "width = 6.0                # of clear and crease shapes drawn as a line"
    yield "seam = 8.0                 # beside seams still to be sewn"
    yield ""
    yield "[templates]"
    paper = "letter" if found.in_inches else "a4"
    sheet = f"sheet = {_text(paper)}"
    yield f"{sheet:<26} # a paper, [width, height], or {{ width = 610 }} for a roll"
    yield 'kinds = ["stencil", "prick", "punch"]   # leave out what you do not use'
    yield "stencil = { clearance = 0.3, bridge = 1.0, registration = 0.2, kerf = 0.0 }"
    yield "punches = [2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0]   # the ones you own, mm"
    yield f"paper = {{ size = {_text(paper)}, margin = 8, overlap = 10 }}"
    yield 'formats = ["svg", "dxf", "pdf"]'


def _layers(found: Survey) -> Iterator[str]:
    """What layers without a role may be, as lines to be accepted by taking the # away."""
    without = [layer.name for layer in found.layers if layer.role is None and layer.shapes]
    if not without:
        return
    room = max(len(x.setting) for x in found.proposals) + 2 if found.proposals else 0
    yield ""
    yield "[layers]"
    yield "# These layers have no role. Take the # away where the proposal is right, or write the"
    yield f"# role and name yourself. Roles: {', '.join(Role)}."
    if any(x.layer != x.drawn_on for x in found.proposals):
        yield "# One colour of a layer is named as the layer, then the colour."
    for layer in without:
        proposed = [x for x in found.proposals if x.drawn_on == layer]
        for proposal in proposed:
            yield f"# {proposal.setting:<{room}} # {proposal.why}"
        if not proposed:
            yield f"# {_text(layer)} = ...   # nothing to go by"


def _proposed(proposals: Sequence[Proposal], first: int, styles: Sequence[str]) -> Iterator[str]:
    """The tables of zones that are only proposed, commented like their layers."""
    names = dict.fromkeys(p.name for p in proposals if p.role is Role.ZONE)
    if names:
        yield ""
        yield "# For each zone that you accept under [layers], take the # away here as well."
    for index, name in enumerate(names):
        yield ""
        yield from (f"# {line}" for line in _stoning(name, first + index, styles))


def _zone(name: str) -> Iterator[str]:
    yield f"[zones.{_key(name)}]"
    yield f"fabric = {_text('')}                # what it is cut from, for the labels"
    yield "allowance = 0              # 0: raw edge under stones; 5: turned under"
    yield "underlap = 5               # how far it goes beneath the zone above it"
    yield '# corner = "mitre"         # mitre | square | bevel | folded'
    yield "web = true                 # fusible web behind it, traced reversed"


def _stoning(name: str, index: int, styles: Sequence[str]) -> Iterator[str]:
    yield f"[stoning.{_key(name)}]"
    yield f'colour = {_text(_COLOURS[index % len(_COLOURS)])}       # or shares: {{ "sea green" = 80, "mint" = 20 }}'
    yield 'method = "hand"            # hand | film (glue through stencils) | tape (hot-fix): these want gaps of about 0.6'
    yield 'outline = { size = "ss16", gap = 0.3, rows = 1, along = "visible" }   # or false'
    yield f"# fill styles: {', '.join(styles)}"
    yield 'fill = { style = "packed", sizes = { ss20 = 25, ss16 = 50, ss12 = 25 }, gap = 0.3 }'
    yield "finish = { plain = 60, ab = 40 }"


def _piece(name: str, has_fold: bool, edges: Sequence[str]) -> Iterator[str]:
    make = "fold" if has_fold else "pair"
    yield ""
    yield f"[pieces.{_key(name)}]"
    yield f"make = {_text(make)}              # pair (two cloths) | fold (one cloth, joined at the fold) | single"
    yield 'drawn = "left"             # which side of the wearer is drawn'
    yield 'outline = "seam"           # seam | cut: which line was drawn'
    yield "allowance = 10"
    if edges:
        shown = ", ".join(f"{_key(edge)} = 10" for edge in edges)
        yield f"# edges = {{ {shown} }}   # where it differs along an edge or seam"


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


def _list(values: Sequence[str]) -> str:
    return "[" + ", ".join(_text(value) for value in values) + "]"


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else _text(name)
