from django.urls import path

from inspections.api import calibrations, check_outs, instruments
from inspections.api.calculation_urls import calculation_urls

urlpatterns = [
    *calculation_urls,
    path("instruments", instruments.InstrumentsView.as_view()),
    path("instruments/<uuid:instrument>", instruments.InstrumentView.as_view()),
    path("instruments/<uuid:instrument>/calibrations", calibrations.CalibrationsView.as_view()),
    path("instruments/<uuid:instrument>/withdrawals", calibrations.InstrumentWithdrawalsView.as_view()),
    path("instrument_withdrawals/<uuid:withdrawal>/returns", calibrations.InstrumentReturnsView.as_view()),
    path("instruments/<uuid:instrument>/check_outs", check_outs.CheckOutsView.as_view()),
    path("check_outs/<uuid:check_out>/check_ins", check_outs.CheckInsView.as_view()),
]
