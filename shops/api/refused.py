"""What most operations share: the refusals they can answer, and the header that a change sends."""

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter

from shops.domain.errors import (
    AlreadyExists,
    BadInput,
    NotFound,
    PreconditionFailed,
    PreconditionRequired,
    SignatureInvalid,
    TooLarge,
    UnsupportedMedia,
)

LIST = (BadInput,)
READ = (NotFound,)
READ_AT = (NotFound, BadInput)
CREATE = (BadInput, NotFound, AlreadyExists, TooLarge, UnsupportedMedia)
STATE = (*CREATE, SignatureInvalid)
"""Creating what may carry a signed statement."""
CHANGE = (*CREATE, PreconditionFailed, PreconditionRequired)

IF_MATCH = OpenApiParameter(
    "If-Match",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    required=True,
    description='The ETag that was read, such as `"v1"`; `*` for whatever is current.',
)
