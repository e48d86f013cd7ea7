"""Names and texts of DXF as they are meant."""

from __future__ import annotations


def decoded(text: str) -> str:
    r"""Text with the escapes of versions before 2007 (``\U+00E4``) undone.

    Bytes that are no UTF-8, where the version of the file asks for it, are taken for Windows' own.
    """
    from ezdxf.lldxf.encoding import decode_dxf_unicode, has_dxf_unicode

    if not text.isascii() and any("\udc80" <= letter <= "\udcff" for letter in text):
        text = text.encode("utf-8", "surrogateescape").decode("cp1252", "replace")
    return decode_dxf_unicode(text) if has_dxf_unicode(text) else text
