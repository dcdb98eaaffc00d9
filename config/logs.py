"""Log lines: JSON in production, a plain line otherwise, each with the request id."""

import json
import logging
from datetime import UTC, datetime

from shops.api.request_id import current_request_id


class JsonFormatter(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        line = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
            "request_id": current_request_id(),
        }
        if record.exc_info:
            line["exception"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False)


class PlainFormatter(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        text = f"{record.levelname.lower()} {record.name} [{current_request_id() or '-'}] {record.getMessage()}"
        return text + ("\n" + self.formatException(record.exc_info) if record.exc_info else "")
