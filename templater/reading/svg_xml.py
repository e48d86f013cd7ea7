"""Bytes to an XML tree, within bounds: nothing fetched, no bomb unfolded, no endless depth.

Imports lxml; imported late.
"""

from __future__ import annotations

import re
import zlib

from lxml import etree

from templater.model.problems import Problem, Severity, Source

SVG_NS = "http://www.w3.org/2000/svg"
XLINK_NS = "http://www.w3.org/1999/xlink"
_ENCODING = re.compile(rb"encoding\s*=\s*[\"']([A-Za-z0-9._-]+)")
_ASCII_LIKE = frozenset({b"utf-8", b"us-ascii", b"ascii", b"iso-8859-1", b"windows-1252"})
LARGEST_BYTES = 256 * 1024 * 1024
_LARGEST_UNPACKED = 64 * 1024 * 1024


def parse_xml(data: bytes, file: str) -> tuple[etree._Element | None, tuple[Problem, ...]]:
    """The root element, or None and the reason. Never raises for what the bytes hold."""
    if data[:2] == b"\x1f\x8b":
        unpacked = _unpack(data)
        if unpacked is None:
            return None, (_refused(file, "the compressed file is damaged or too large to unpack"),)
        data = unpacked
    if not data.strip():
        return None, (_refused(file, "the file is empty"),)
    if len(data) > LARGEST_BYTES:
        return None, (_refused(file, f"the file is larger than {LARGEST_BYTES >> 20} MB"),)
    try:
        return _parse(data, huge=False), ()
    except etree.XMLSyntaxError as error:
        # One attribute above 10 MB is a long outline, not an attack, where nothing is unfolded.
        too_long = ("Buffer size limit", "too long", "huge text")
        if any(words in str(error) for words in too_long) and _unfolds_nothing(data):
            try:
                return _parse(data, huge=True), ()
            except etree.XMLSyntaxError as second:
                error = second
        return None, (_syntax(error, file),)
    except (ValueError, LookupError) as error:
        return None, (_refused(file, f"the file cannot be read as XML: {error}"),)


def _parse(data: bytes, *, huge: bool) -> etree._Element:
    parser = etree.XMLParser(
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        resolve_entities="internal",
        remove_comments=True,
        remove_pis=True,
        huge_tree=huge,
    )
    return etree.fromstring(data, parser)


def _unfolds_nothing(data: bytes) -> bool:
    """Whether a file surely defines no entities: it says none, in an encoding that shows it."""
    declared = _ENCODING.search(data[:200])
    encoding = declared.group(1).lower() if declared else b"utf-8"
    plain = b"\0" not in data[:4] and data[:2] not in {b"\xff\xfe", b"\xfe\xff"}
    return plain and encoding in _ASCII_LIKE and b"<!ENTITY" not in data


def _unpack(data: bytes) -> bytes | None:
    """A compressed drawing (.svgz) unpacked within bounds."""
    unpacker = zlib.decompressobj(wbits=31)
    try:
        out = unpacker.decompress(data, _LARGEST_UNPACKED)
    except zlib.error:
        return None
    return out if unpacker.eof else None


def _syntax(error: etree.XMLSyntaxError, file: str) -> Problem:
    text = (error.msg or "it is not well-formed").strip()
    line = error.lineno or None
    if "amplification" in text or "entity loop" in text.lower():
        what, mend = (
            "its entities unfold into a mass of text",
            "save the drawing anew as plain SVG from a vector editor",
        )
    elif "Entity" in text:
        what, mend = (
            f"it refers to something outside the file or not defined in it ({text})",
            "save the drawing anew as plain SVG: templater fetches nothing from elsewhere",
        )
    elif "character encoding" in text or "not proper UTF-8" in text:
        what, mend = (
            "its letters are not written in the encoding that it names (UTF-8 where it names none)",
            "save it again from the editor, with UTF-8 as its encoding",
        )
    elif "XML declaration allowed only" in text:
        what, mend = (
            "something stands before its first line",
            "delete the blank lines before “<?xml” in a text editor",
        )
    elif "depth" in text:
        what, mend = (
            "its groups are nested more than 256 deep",
            "ungroup the drawing in the editor and save it again",
        )
    elif "Namespace prefix" in text:
        what, mend = (
            f"it uses a name it does not declare ({text})",
            "save the drawing anew as plain SVG from a vector editor",
        )
    else:
        what, mend = (
            f"it is not well-formed XML ({text})",
            "the file may be cut off or damaged: save it again, or copy it again",
        )
    where = f" at line {line}" if line else ""
    return Problem(
        "svg-broken",
        Severity.ERROR,
        f"{file} cannot be read{where}: {what}.",
        mend[:1].upper() + mend[1:] + ".",
        Source(file, line=line),
    )


def _refused(file: str, why: str) -> Problem:
    return Problem(
        "svg-broken",
        Severity.ERROR,
        f"{file} cannot be read: {why}.",
        "Save the drawing again as SVG from the editor it was drawn in.",
        Source(file),
    )


def local(element: etree._Element) -> str:
    """The element's name without its namespace."""
    tag = element.tag
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def in_svg(element: etree._Element) -> bool:
    """Whether an element belongs to SVG: its namespace, or none at all."""
    tag = element.tag
    return isinstance(tag, str) and (tag[0] != "{" or tag.startswith("{" + SVG_NS + "}"))


def href(element: etree._Element) -> str:
    """What a `use` refers to: SVG 2's plain attribute before XLink's."""
    return (element.get("href") or element.get(f"{{{XLINK_NS}}}href") or "").strip()
