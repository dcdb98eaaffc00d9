"""Who looked: the lines of the access log, as the token may see them."""

from typing import Final

from shops.queries.page import KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_page
from shops.queries.scope import when_given

LINES: Final = Listing(
    """
SELECT l.id, l.at, l.token_id AS token, a.label, a.role, l.command, l.request_id, l.method, l.path, l.query
FROM access_log l LEFT JOIN access_tokens a ON a.company_id = l.company_id AND a.id = l.token_id""",
    (OrderColumn("l.id", "id", KeyKind.ID),),
)


def list_access(ask: PageAsk, token: object = None) -> Rows:
    """A page of lines in the order in which they were written; those of one token, if it is given."""
    return fetch_page(LINES, when_given("l.token_id = %s", token), ask)
