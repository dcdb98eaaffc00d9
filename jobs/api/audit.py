"""The auditor's face: the company's entries, filtered, paged or streamed; and who has looked."""

import logging
from collections.abc import Iterator

from django.http import StreamingHttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import audit_schemas as schemas
from jobs.api import entries
from jobs.queries.access_log import LINES, list_access
from jobs.queries.entry_export import EntryExport, ExportForm
from jobs.queries.entry_search import ARRIVAL_ORDER, search_entries
from jobs.services.require_undated import require_undated
from shops.api import refused
from shops.api.bodies import read_query
from shops.api.fields import Identifier
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.scoping import require_all_carriers, require_all_shops
from shops.api.view import RecordView
from shops.domain.access import AUDITORS

TAG = "Audit"
log = logging.getLogger("rebuild.export")
NDJSON, CSV = "application/x-ndjson", "text/csv; charset=utf-8; header=present"
BROKEN = {
    ExportForm.NDJSON: b'{"problem":{"type":"urn:rebuild-record:problem:export-broken","title":"The export broke off",'
    b'"detail":"There are fewer entries here than Entry-Count says. Ask again."}}\n',
    ExportForm.CSV: b'"problem: the export broke off; fewer entries are here than Entry-Count says; ask again"\r\n',
}
ENTRY_COUNT = OpenApiParameter(
    "Entry-Count",
    OpenApiTypes.INT64,
    OpenApiParameter.HEADER,
    description="How many entries the whole stream has: with fewer it broke off.",
    response=[200],
)
_STREAMED = (
    "Streamed from one snapshot of the record. `Entry-Count` says how many entries there are; one that ends before "
    "has broken off: ask again. Every export is written down in the access log."
)


class EntriesView(entries.EntriesView):
    """Signed entries are posted as the phone's resources have it; here they are looked for."""

    @operation(
        summary="Look for entries, in the order of their arrival",
        description="Within the scope of the token: its shops, its carriers, and entries that arrived between its "
        "dates. Entries go on arriving while pages are read; what the log has sequenced is gap-free. Every read by an "
        "auditor is written down in the access log.",
        roles=AUDITORS,
        answers={200: page_schema(schemas.AuditedEntrySchema)},
        example={"items": [schemas.AUDITED_ENTRY], "next": None},
        problems=refused.LIST,
        parameters=[schemas.EntryPageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(schemas.EntryPageQuery, request)
        ask = page_ask(query, ARRIVAL_ORDER)
        return Response(page_document(search_entries(self.grant, schemas.entry_filter(query), ask)))


class EntriesNdjsonView(RecordView):
    @operation(
        summary="Export entries as NDJSON: one entry a line, as the list shows it",
        description=_STREAMED,
        roles=AUDITORS,
        answers={(200, NDJSON): OpenApiTypes.STR},
        example=schemas.NDJSON_EXAMPLE,
        problems=refused.LIST,
        parameters=[schemas.EntryQuery, ENTRY_COUNT],
        tag=TAG,
        is_export=True,
    )
    def get(self, request: Request) -> StreamingHttpResponse:
        return _streamed(self, request, ExportForm.NDJSON, NDJSON, "entries.ndjson")


class EntriesCsvView(RecordView):
    @operation(
        summary="Export entries as CSV (RFC 4180) with a header",
        description=f"{_STREAMED} Cells are the exact data, nothing is put before them: a spreadsheet is told to take "
        "every column as text, so that it computes nothing and rounds nothing.",
        roles=AUDITORS,
        answers={(200, "text/csv"): OpenApiTypes.STR},
        example=schemas.CSV_EXAMPLE,
        problems=refused.LIST,
        parameters=[schemas.EntryQuery, ENTRY_COUNT],
        tag=TAG,
        is_export=True,
    )
    def get(self, request: Request) -> StreamingHttpResponse:
        return _streamed(self, request, ExportForm.CSV, CSV, "entries.csv")


def _streamed(view: RecordView, request: Request, form: ExportForm, media: str, name: str) -> StreamingHttpResponse:
    wanted = schemas.entry_filter(read_query(schemas.EntryQuery, request))
    export = EntryExport(view.grant, wanted, form)
    headers = {
        "Entry-Count": str(export.count),
        "Content-Disposition": f'attachment; filename="{name}"',
        "Cache-Control": "no-store",
        "X-Accel-Buffering": "no",
    }
    return StreamingHttpResponse(Watched(export, form), content_type=media, headers=headers)


class Watched:
    """The chunks of an export. When it breaks off, that is logged, and said in a last line that is no entry.

    The status has gone out by then, and a server may end an answer as if it were whole.
    """

    def __init__(self, export: EntryExport, form: ExportForm) -> None:
        self._export = export
        self._form = form

    def __iter__(self) -> Iterator[bytes]:
        return self

    def __next__(self) -> bytes:
        try:
            return next(self._export)
        except StopIteration:
            raise
        except Exception:
            log.exception("an export broke off")
            self._export.stop()
            return BROKEN[self._form]

    def close(self) -> None:
        """Called by the server when the answer is out, or the client is gone."""
        self._export.close()


class AccessLogQuery(PageQuery):
    token = Identifier(required=False, help_text="Lines of this access token only.")


class AccessLogView(RecordView):
    @operation(
        summary="Who looked: every request of an auditor and every export, in their order",
        description="For tokens that reach all shops, carriers and dates.",
        roles=AUDITORS,
        answers={200: page_schema(schemas.AccessLineSchema)},
        example={"items": [schemas.ACCESS_LINE], "next": None},
        problems=refused.LIST,
        parameters=[AccessLogQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(AccessLogQuery, request)
        require_all_shops(self.grant)
        require_all_carriers(self.grant)
        require_undated(self.grant)
        return Response(page_document(list_access(page_ask(query, LINES.order), query.get("token"))))
