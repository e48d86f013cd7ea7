"""Bytes to an ezdxf document: what is no DXF, or is cut off or damaged, is said.

The strict loader is tried first; a file it refuses is loaded by the recovering one, with a warning.
ezdxf's recovering loader gives an empty document for files that are no DXF at all, so these are
told apart before. Imports ezdxf when called.
"""

from __future__ import annotations

import io
import logging
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.words import counted
from templater.reading.dxf_bare import with_marks
from templater.reading.dxf_words import decoded

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

_BINARY_MARK = b"AutoCAD Binary DXF\r\n\x1a\x00"
_MOST_MESSAGES = 10
_HEAD = 1 << 18
# group codes of coordinates and other lengths: 10 to 59, 140 to 149, 210 to 239
_DECIMAL_COMMA = re.compile(
    rb"(?:^|\n)[ \t]*(?:[1-5]\d|14\d|2[123]\d)[ \t]*\r?\n[ \t]*([+-]?\d+,\d+)[ \t]*\r?\n"
)
_OTHER_KINDS = (
    (re.compile(rb"AC10\d\d"), "a DWG file", "Save it as DXF from the program that made it."),
    (re.compile(rb"%PDF"), "a PDF file", "Name it with the ending .pdf."),
    (re.compile(rb"\s*(\xef\xbb\xbf)?\s*<(\?xml|svg|!DOCTYPE)"), "an SVG or XML file",
     "Name it with the ending .svg if it is a drawing."),
    (re.compile(rb"PK\x03\x04"), "a zip archive", "Unpack it and give the DXF file inside."),
    (re.compile(rb"\x89PNG|\xff\xd8\xff|GIF8|BM"), "a picture", "Trace it and save as DXF or SVG."),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Loaded:
    """A document, or None where there is nothing to go on with; and what was found on the way."""

    document: Document | None
    problems: Problems
    recovered: bool = False


def load_document(data: bytes, file: str) -> Loaded:
    """The document in `data`. Never raises for bad content."""
    refusal = _refusal(data, file)
    if refusal:
        return Loaded(None, (refusal,))
    # what ezdxf would write to the terminal is said in problems; a caller's handlers still hear it
    logger = logging.getLogger("ezdxf")
    if not logger.handlers:
        logger.addHandler(logging.NullHandler())
    problems: list[Problem] = []
    marked = with_marks(data)
    if marked is not None:
        data = marked
        problems.append(_unmarked(file))
    document = _strictly(data)
    recovered = document is None
    if document is None:
        document, faults, guessed = _recovered(data)
        if document is None:
            return Loaded(
                None,
                (
                    _error(
                        file,
                        "dxf-unreadable",
                        f"“{file}” cannot be read as DXF: {faults}.",
                        "Save it again as DXF (R2010, ASCII) from the program that made it.",
                    ),
                ),
            )
        problems.extend(_guess_problems(file, guessed))
        problems.append(
            Problem(
                "dxf-damaged",
                Severity.WARNING,
                f"“{file}” is damaged ({faults}); what could be recovered was read.",
                "Compare the survey with your drawing, or save it again as DXF.",
                Source(file),
            )
        )
    return Loaded(document, tuple(problems), recovered)


def _unmarked(file: str) -> Problem:
    return Problem(
        "dxf-unmarked",
        Severity.NOTE,
        f"“{file}” leaves out the subclass marks that its polylines or splines need by the rules of "
        "DXF; they were read all the same.",
        "Nothing needs doing, unless the survey differs from your drawing.",
        Source(file),
    )


def _error(file: str, code: str, message: str, mend: str, line: int | None = None) -> Problem:
    return Problem(code, Severity.ERROR, message, mend, Source(file, line=line))


def _refusal(data: bytes, file: str) -> Problem | None:
    if not data.strip():
        return _error(file, "dxf-empty", f"“{file}” is empty.", "Save the drawing again as DXF.")
    for pattern, kind, mend in _OTHER_KINDS:
        if pattern.match(data):
            return _error(file, "not-dxf", f"“{file}” is {kind}, not DXF.", mend)
    if data.startswith(_BINARY_MARK):
        if b"EOF" not in data[-16:]:
            return _cut_off(file)
        return None
    if not re.search(rb"(^|[\r\n])[ \t]*0[ \t]*\r?[\n\r][ \t]*SECTION", data):
        return _error(
            file,
            "not-dxf",
            f"“{file}” is not a DXF file: it has no sections.",
            "Give a drawing saved as DXF or SVG.",
        )
    if comma := _DECIMAL_COMMA.search(data):
        line = data.count(b"\n", 0, comma.start(1)) + 1
        return _error(
            file,
            "decimal-comma",
            f"“{file}” line {line}: the number {comma.group(1).decode()} is written with a decimal "
            "comma, which DXF does not know.",
            "Save it again with the decimal point (set the program's or system's number format).",
            line,
        )
    tail = data[-4096:].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not re.search(rb"(^|\n)[ \t]*0[ \t]*\n[ \t]*EOF[ \t]*(\n|$)", tail):
        return _cut_off(file)
    return None


def _cut_off(file: str) -> Problem:
    return _error(
        file,
        "dxf-cut-off",
        f"“{file}” is cut off: its end mark (EOF) is missing, so shapes may be missing too.",
        "Copy or save the file again.",
    )


def _guess_problems(file: str, guessed: list[str]) -> list[Problem]:
    """A number that had to be guessed could be any: nothing is cut by it."""
    if not guessed:
        return []
    shown = "; ".join(guessed[:_MOST_MESSAGES])
    return [
        _error(
            file,
            "numbers-unreadable",
            f"“{file}” has {counted(len(guessed), 'number')} that cannot be read but only guessed: "
            f"{shown}.",
            "Save it again as DXF from the program that made it.",
        )
    ]


def _strictly(data: bytes) -> Document | None:
    from ezdxf import recover
    from ezdxf.document import Drawing as Document
    from ezdxf.lldxf.tagger import ascii_tags_loader, binary_tags_loader

    try:
        if data.startswith(_BINARY_MARK):
            return Document.load(binary_tags_loader(data))
        # version and code page stand at the head; without them a search runs through all
        encoding = recover.detect_encoding(recover.bytes_loader(io.BytesIO(data[:_HEAD])))
        text = io.TextIOWrapper(io.BytesIO(data), encoding=encoding, errors="surrogateescape")
        return Document.load(ascii_tags_loader(text))
    except Exception:  # noqa: BLE001  whatever a foreign file makes the loader raise, try the other
        return None


def _recovered(data: bytes) -> tuple[Document | None, str, list[str]]:
    """The recovered document, in words what was wrong, and each number that was guessed."""
    from ezdxf import recover
    from ezdxf.audit import AuditError

    if data.startswith(_BINARY_MARK):
        return None, "its binary structure is broken", []
    lines = data if b"\n" in data else data.replace(b"\r", b"\n")
    try:
        document, auditor = recover.read(io.BytesIO(lines))
    except Exception as error:  # noqa: BLE001  the last resort: any failure is a message
        return None, str(error).rstrip(".") or type(error).__name__, []
    faults = [entry.message for entry in (*auditor.errors, *auditor.fixes)]
    shown = "; ".join(fault.rstrip(".") for fault in faults[:_MOST_MESSAGES])
    left = len(faults) - _MOST_MESSAGES
    more = f" and {left} more" if left > 0 else ""
    numbers = (AuditError.INVALID_FLOATING_POINT_VALUE, AuditError.INVALID_INTEGER_VALUE)
    guessed = [entry.message for entry in auditor.errors if entry.code in numbers]
    return document, (shown + more) or "its structure is not by the rules", guessed


def audited(document: Document, file: str) -> Problems:
    """The document's own faults.

    To be asked for after it was read: auditing removes what it cannot mend, which reading has
    named by then.
    """
    from ezdxf.audit import AuditError

    try:
        auditor = document.audit()
    except Exception as error:  # noqa: BLE001  an audit that fails says the file is out of order
        what = str(error).split("\n")[0] or type(error).__name__
        return (
            Problem(
                "dxf-audit",
                Severity.WARNING,
                f"“{file}” could not be audited ({what}).",
                "Compare the survey with your drawing.",
                Source(file),
            ),
        )
    # names and colours out of the ordinary harm no line
    harmless = range(AuditError.INVALID_LAYER_NAME, AuditError.INVALID_DIMSTYLE + 1)
    problems = [
        _error(
            file,
            "dxf-audit",
            f"“{file}” has a fault that cannot be mended: {entry.message}",
            "Save it again as DXF from the program that made it.",
        )
        for entry in auditor.errors
        if entry.code not in harmless
    ][:_MOST_MESSAGES]
    named = [entry for entry in auditor.errors if entry.code in harmless]
    if named:
        problems.append(
            Problem(
                "dxf-names",
                Severity.WARNING,
                f"“{file}” has {counted(len(named), 'name, colour or style', 'names, colours or styles')} "
                f"against the rules of DXF, such as: {decoded(named[0].message)}.",
                "Look whether the layers have the names you gave them; rename them if not.",
                Source(file),
            )
        )
    if auditor.fixes:
        shown = "; ".join(entry.message.rstrip(".") for entry in auditor.fixes[:3])
        problems.append(
            Problem(
                "dxf-mended",
                Severity.NOTE,
                f"The structure of “{file}” has {counted(len(auditor.fixes), 'small fault')}: {shown}.",
                "Save it again as DXF from the program that made it.",
                Source(file),
            )
        )
    return tuple(problems)
