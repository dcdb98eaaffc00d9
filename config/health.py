"""Is the process alive, and is it ready to serve?"""

from typing import Any

from django.db import DatabaseError, connection
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from shops.api.operation import operation
from shops.api.view import OpenView


class HealthSchema(serializers.Serializer[Any]):
    status = serializers.ChoiceField(["alive", "ready", "not_ready"])


class LivezView(OpenView):
    @operation(
        summary="Is the process alive?",
        roles=None,
        answers={200: HealthSchema},
        example={"status": "alive"},
        tag="Health",
    )
    def get(self, request: Request) -> Response:
        return Response({"status": "alive"})


class ReadyzView(OpenView):
    @operation(
        summary="Can the process serve: is its data base there, with the tables it needs?",
        roles=None,
        answers={200: HealthSchema, 503: HealthSchema},
        example={"status": "ready"},
        tag="Health",
    )
    def get(self, request: Request) -> Response:
        try:
            with connection.cursor() as cursor:
                cursor.execute("SELECT count(*) FROM log_queue")
        except DatabaseError:
            return Response({"status": "not_ready"}, status=503)
        return Response({"status": "ready"})
