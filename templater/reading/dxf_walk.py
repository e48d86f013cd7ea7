"""The entities of a document's model space, blocks resolved, each with where it lies.

What a person would not see (layers off or frozen, invisible entities) is left out and counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.words import counted
from templater.reading.colours import BLACK
from templater.reading.dxf_colours import Colours
from templater.reading.dxf_frame import plane_transform
from templater.reading.dxf_words import decoded

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.entities import DXFEntity, Insert
    from ezdxf.layouts import BlockLayout
    from ezdxf.math import Matrix44

_DEEPEST = 64
MOST_ENTITIES = 1_000_000


@dataclass(frozen=True, slots=True)
class Placed:
    """An entity; `matrix` takes its coordinates to model space, `layer` is the one it is seen on."""

    entity: DXFEntity
    matrix: Matrix44
    layer: str
    blocks: tuple[str, ...]
    colour: str = ""

    def source(self, file: str) -> Source:
        """Where it stands, for messages: its kind and handle, and the blocks around it."""
        return replace(source_of(self.entity, file, self.layer, self.blocks), colour=self.colour)


@dataclass(frozen=True, slots=True)
class _Inherited:
    """What a block's contents take over from its reference."""

    layer: str
    colour: str


_TOP = _Inherited("0", BLACK)


@dataclass(slots=True)
class Walk:
    """One walk through a document: iterate `entities()`, then ask for `problems`, `hidden()`."""

    document: Document
    file: str
    problems: list[Problem] = field(default_factory=list)
    _hidden: Counter[tuple[str, str]] = field(default_factory=Counter)
    _seen: int = 0
    _reported: set[tuple[str, str]] = field(default_factory=set)
    _states: dict[str, str] = field(default_factory=dict)
    _names: dict[str, str] = field(default_factory=dict)
    _colours: Colours = field(init=False)

    def __post_init__(self) -> None:
        self._colours = Colours(self.document)

    def entities(self) -> Iterator[Placed]:
        from ezdxf.math import Matrix44

        yield from self._within(self.document.modelspace(), Matrix44(), (), _TOP)

    def hidden(self) -> Problems:
        """Notes on what was left out because it cannot be seen; to be asked for after the walk."""
        return tuple(
            Problem(
                "layer-hidden",
                Severity.NOTE,
                f"Left out on layer “{layer}”: {counted(count, 'entity', 'entities')}, as {state}.",
                "Switch the layer on and thaw it in the drawing if they are needed.",
                Source(self.file, layer),
            )
            for (layer, state), count in sorted(self._hidden.items())
        )

    def these(self, entities: Iterable[DXFEntity]) -> Iterator[Placed]:
        """Some of what stands in model space alone, as `entities`."""
        from ezdxf.math import Matrix44

        yield from self._within(entities, Matrix44(), (), _TOP)

    def within_reference(self, insert: Insert) -> Iterator[Placed]:
        """The contents of one reference alone, as `entities`."""
        from ezdxf.math import Matrix44

        layer = self._spelt(layer_of(insert))
        inherited = _Inherited(layer, self._colours.of(insert, layer, BLACK))
        yield from self._reference(insert, Matrix44(), inherited, ())

    def within_block(self, block: BlockLayout) -> Iterator[Placed]:
        """The contents of a block that nothing refers to, as they are defined."""
        from ezdxf.math import Matrix44

        yield from self._within(block, Matrix44(), (decoded(block.name),), _TOP)

    def _within(
        self,
        content: Iterable[DXFEntity],
        matrix: Matrix44,
        blocks: tuple[str, ...],
        inherited: _Inherited,
    ) -> Iterator[Placed]:
        for entity in content:
            own = self._spelt(layer_of(entity))
            # by the standard, layer "0" in a block stands for the layer of its reference
            layer = inherited.layer if own == "0" and blocks else own
            if self._seen >= MOST_ENTITIES:
                self._once(
                    "too-many-entities",
                    f"“{self.file}” resolves to more than {MOST_ENTITIES:,} entities.",
                    "Export only the pieces that are needed, without nested copies.",
                    Source(self.file),
                )
                return
            self._seen += 1
            colour = self._colours.of(entity, layer, inherited.colour)
            if entity.dxftype() == "INSERT":
                if self._state(layer) != "frozen":  # a layer merely off hides only its own
                    here = _Inherited(layer, colour)
                    yield from self._reference(entity, matrix, here, blocks)  # type: ignore[arg-type]  # told by its type name
                else:
                    self._hidden[layer, "the layer is frozen"] += 1
                continue
            state = self._state(layer)
            if state:
                self._hidden[layer, f"the layer is {state}"] += 1
            elif _is_invisible(entity):
                self._hidden[layer, "they are marked invisible"] += 1
            else:
                yield Placed(entity, matrix, layer, blocks, colour)

    def _reference(
        self, insert: Insert, matrix: Matrix44, inherited: _Inherited, blocks: tuple[str, ...]
    ) -> Iterator[Placed]:
        layer = inherited.layer
        name = decoded(str(insert.dxf.get("name", "")))
        source = source_of(insert, self.file, layer, blocks)
        at = insert.dxf.get("insert")
        place = f" at x {at.x:.2f}, y {at.y:.2f} in its own units" if at is not None else ""
        block = insert.block()
        if block is None:
            self._once(
                "block-missing",
                f"The block “{name}” referred to{place} on layer “{layer}” is not in the file.",
                "Insert the block again or delete the reference.",
                source,
            )
            return
        if name in blocks or len(blocks) >= _DEEPEST:
            self._once(
                "block-in-itself",
                f"The block “{name}” contains itself"
                + (f" (by way of {' > '.join(blocks)})." if len(blocks) > 1 else "."),
                "Explode the block or redraw it.",
                source,
            )
            return
        if insert.is_xref():
            self._once(
                "block-external",
                f"The block “{name}” refers to another file, which is not read.",
                "Bind the reference in the program that made the drawing, then save again.",
                source,
            )
            return
        if _is_clipped(insert):
            self._once(
                "block-clipped",
                f"The reference to block “{name}” is clipped; its whole content was read.",
                "Explode and trim it in the drawing.",
                source,
                Severity.WARNING,
            )
        copies = insert.dxf.row_count * insert.dxf.column_count
        if copies > MOST_ENTITIES:
            self._seen = MOST_ENTITIES
        each = insert.multi_insert() if 1 < copies <= MOST_ENTITIES else (insert,)
        for one in each:
            for attribute in one.attribs:
                if not attribute.is_invisible:
                    own = self._spelt(layer_of(attribute))
                    colour = self._colours.of(attribute, own, inherited.colour)
                    yield Placed(attribute, matrix, own, blocks, colour)
            inner = one.matrix44() @ matrix
            if plane_transform(inner) is None:
                self._once(
                    "not-flat",
                    f"The block “{name}” is inserted{place} tipped out of the drawing's plane.",
                    "Insert it flat (seen from above), or switch its layer off.",
                    source,
                )
                return
            yield from self._within(block, inner, (*blocks, name), inherited)

    def _state(self, layer: str) -> str:
        """Nothing for a layer that is seen, else "frozen" or "off"."""
        layer = layer.casefold()
        if layer not in self._states:
            if not self._states:
                self._states = {
                    decoded(entry.dxf.name).casefold(): (
                        "frozen" if entry.is_frozen() else "off" if entry.is_off() else ""
                    )
                    for entry in self.document.layers
                }
            self._states.setdefault(layer, "")
        return self._states[layer]

    def _spelt(self, layer: str) -> str:
        """A layer's name as first met: CAD does not tell small letters from capitals."""
        return self._names.setdefault(layer.casefold(), layer)

    def _once(
        self,
        code: str,
        message: str,
        mend: str,
        source: Source,
        severity: Severity = Severity.ERROR,
    ) -> None:
        if (code, message) not in self._reported:
            self._reported.add((code, message))
            self.problems.append(Problem(code, severity, message, mend, source))


def _is_invisible(entity: DXFEntity) -> bool:
    return entity.dxf.is_supported("invisible") and bool(entity.dxf.get("invisible", 0))


def _is_clipped(insert: Insert) -> bool:
    from ezdxf.xclip import XClip

    if not insert.has_extension_dict:
        return False
    return XClip(insert).has_clipping_path


def layer_of(entity: DXFEntity) -> str:
    """The layer an entity names; "0" where it names none or is of a kind ezdxf does not know."""
    from ezdxf.lldxf.const import DXFError

    try:
        return decoded(str(entity.dxf.get("layer", "0")))
    except DXFError:
        return "0"


def source_of(entity: DXFEntity, file: str, layer: str, blocks: tuple[str, ...]) -> Source:
    """Where an entity stands, for messages: its kind and handle, and the blocks around it."""
    handle = entity.dxf.get("handle")
    name = entity.dxftype() + (f" #{handle}" if handle else "")
    if blocks:
        name += f" in block {' > '.join(blocks)}"
    return Source(file, layer, name)


def paper_problem(document: Document, file: str) -> Problem | None:
    """A note where paper space holds drawing, which is not read."""
    count = 0
    for layout in document.layouts:
        if not layout.is_modelspace:
            count += sum(1 for entity in layout if entity.dxftype() != "VIEWPORT")
    if not count:
        return None
    return Problem(
        "paper-space-left-out",
        Severity.NOTE,
        f"Left out: {counted(count, 'entity', 'entities')} in paper space; only model space is read.",
        "Move what is needed into model space.",
        Source(file),
    )
