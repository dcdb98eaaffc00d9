"""What kind of file an evidence file is: by its first bytes, never by its name or by what somebody says of it.

Rules, in plain sentences:

1. JPEG, PNG, WebP, HEIC and HEIF pictures and PDF documents are evidence; nothing else is, SVG and HTML least of all.
2. JPEG, PNG and WebP are told by the signatures of the WHATWG MIME Sniffing standard (6.1 "Matching an image type
   pattern"), PDF by its 7.1 ("%PDF-" at the very first byte).
3. HEIC and HEIF are ISO base media files (ISO/IEC 14496-12, 4.3): a first box `ftyp` whose major or compatible brands
   are those of ISO/IEC 23008-12 for single pictures, `heic`, `heix`, `heim`, `heis` for HEVC and `mif1` for any coding.
   A file that says that it is also AVIF is another kind. (The brands are from memory.)
4. Only JPEG, PNG and WebP are shown inside a page; the rest is handed out as a download.

A file may begin as a picture and go on as something else. It is kept, since its digest was signed, and is harmless
where it is served with its sniffed type and `nosniff`.

Example: `<html>…` sent as image/jpeg has no type here, and is refused.
"""

from typing import Final

JPEG: Final = "image/jpeg"
PNG: Final = "image/png"
WEBP: Final = "image/webp"
HEIC: Final = "image/heic"
HEIF: Final = "image/heif"
PDF: Final = "application/pdf"
MEDIA_TYPES: Final = (JPEG, PNG, WEBP, HEIC, HEIF, PDF)
SHOWN_IN_A_PAGE: Final = frozenset({JPEG, PNG, WEBP})
EXTENSIONS: Final = {JPEG: "jpg", PNG: "png", WEBP: "webp", HEIC: "heic", HEIF: "heif", PDF: "pdf"}
_HEVC_BRANDS: Final = frozenset({b"heic", b"heix", b"heim", b"heis"})
_ANY_BRAND: Final = b"mif1"
_OTHER_BRANDS: Final = frozenset({b"avif", b"avis"})
_LEAST_BOX: Final = 16  # bytes: no compatible brand
_LARGEST_BOX: Final = 272  # bytes: 64 of them


def media_types_of(content: bytes) -> tuple[str, ...]:
    """The media types that `content` may be called, the most telling first; none if it is no evidence."""
    if content[:3] == b"\xff\xd8\xff":
        return (JPEG,)
    if content[:8] == b"\x89PNG\r\n\x1a\n":
        return (PNG,)
    if content[:4] == b"RIFF" and content[8:14] == b"WEBPVP":
        return (WEBP,)
    if content[:5] == b"%PDF-":
        return (PDF,)
    return _of_brands(content)


def _of_brands(content: bytes) -> tuple[str, ...]:
    """Of an ISO base media file, by the brands of its first box."""
    size = int.from_bytes(content[:4])
    if content[4:8] != b"ftyp" or size % 4 or not _LEAST_BOX <= size <= min(len(content), _LARGEST_BOX):
        return ()
    brands = {content[8:12], *(content[at : at + 4] for at in range(_LEAST_BOX, size, 4))}
    if brands & _OTHER_BRANDS:
        return ()
    if brands & _HEVC_BRANDS:
        return (HEIC, HEIF)
    return (HEIF,) if _ANY_BRAND in brands else ()
