from django.db import models
from simple_history.models import HistoricalRecords


class Technician(models.Model):
    initials = models.TextField(unique=True)


class Job(models.Model):
    reference = models.TextField(unique=True)


class Entry(models.Model):
    job = models.ForeignKey(Job, on_delete=models.PROTECT)
    technician = models.ForeignKey(Technician, on_delete=models.PROTECT)
    kind = models.CharField(max_length=40)
    step = models.CharField(max_length=80, blank=True)
    performed_at = models.DateTimeField()
    payload = models.JSONField()
    note = models.TextField(blank=True)
    history = HistoricalRecords()
