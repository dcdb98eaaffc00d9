"""Pictures for a story that has no camera: a grey JPEG of eight by eight dots, with a comment that says of what."""

from base64 import b64decode
from hashlib import sha256
from typing import Final

_GREY: Final = b64decode(
    "/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDAFA3PEY8MlBGQUZaVVBfeMiCeG5uePWvuZHI////////////////////////////////////////////"
    "////////wAALCAAIAAgBAREA/8QAFAABAAAAAAAAAAAAAAAAAAAAAP/EABQQAQAAAAAAAAAAAAAAAAAAAAD/2gAIAQEAAD8AP//Z"
)
_START: Final = 2  # bytes of the marker that begins every JPEG
_COMMENT: Final = b"\xff\xfe"  # ITU-T T.81, table B.1


def picture(of: str) -> bytes:
    """A JPEG that is another for each text."""
    said = f"photo of the {of}".encode()
    return _GREY[:_START] + _COMMENT + (len(said) + 2).to_bytes(2) + said + _GREY[_START:]


def picture_digest(content: bytes) -> str:
    return sha256(content).hexdigest()
