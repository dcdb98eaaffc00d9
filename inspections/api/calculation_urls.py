from django.urls import path

from inspections.api.adjustment_calculations import AdjustmentsView, ShimStacksView
from inspections.api.fastener_calculations import TorqueChecksView
from inspections.api.geometry_calculations import FlatnessesView, GapFlatnessesView, PinFitsView, RoundnessesView
from inspections.api.temperature_calculations import ThermalBowsView, WarmLengthsView
from inspections.api.turn_angle_calculations import TurnAnglesView
from inspections.api.uncertainty_calculations import DecisionRisksView, UncertaintyBudgetsView
from inspections.api.wear_calculations import WearView

calculation_urls = [
    path("calculations/adjustments", AdjustmentsView.as_view()),
    path("calculations/decision_risks", DecisionRisksView.as_view()),
    path("calculations/flatness", FlatnessesView.as_view()),
    path("calculations/pin_fits", PinFitsView.as_view()),
    path("calculations/roundness", RoundnessesView.as_view()),
    path("calculations/shim_stacks", ShimStacksView.as_view()),
    path("calculations/straightedge_flatness", GapFlatnessesView.as_view()),
    path("calculations/thermal_bows", ThermalBowsView.as_view()),
    path("calculations/torque_checks", TorqueChecksView.as_view()),
    path("calculations/turn_angles", TurnAnglesView.as_view()),
    path("calculations/uncertainty_budgets", UncertaintyBudgetsView.as_view()),
    path("calculations/warm_lengths", WarmLengthsView.as_view()),
    path("calculations/wear", WearView.as_view()),
]
