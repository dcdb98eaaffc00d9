from rest_framework import serializers, viewsets

from tests.benchmarks.peer.models import Entry


class EntrySerializer(serializers.ModelSerializer):
    class Meta:
        model = Entry
        fields = ["id", "job", "technician", "kind", "step", "performed_at", "payload", "note"]


class EntryViewSet(viewsets.ModelViewSet):
    queryset = Entry.objects.all()
    serializer_class = EntrySerializer
