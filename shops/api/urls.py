from django.urls import path

from shops.api import access, couplings, departures, enrolment, shops, technicians, units

urlpatterns = [
    path("me", access.MeView.as_view()),
    path("access_tokens", access.AccessTokensView.as_view()),
    path("access_tokens/<uuid:token>", access.AccessTokenView.as_view()),
    path("access_tokens/<uuid:token>/revocations", access.AccessTokenRevocationsView.as_view()),
    path("shops", shops.ShopsView.as_view()),
    path("shops/<uuid:shop>", shops.ShopView.as_view()),
    path("carriers", shops.CarriersView.as_view()),
    path("carriers/<uuid:carrier>", shops.CarrierView.as_view()),
    path("technicians", technicians.TechniciansView.as_view()),
    path("technicians/<uuid:technician>", technicians.TechnicianView.as_view()),
    path("technicians/<uuid:technician>/qualifications", technicians.TechnicianQualificationsView.as_view()),
    path("technicians/<uuid:technician>/departures", departures.DeparturesView.as_view()),
    path("qualifications/<uuid:qualification>", technicians.QualificationView.as_view()),
    path("qualifications/<uuid:qualification>/withdrawals", technicians.QualificationWithdrawalsView.as_view()),
    path("enrolment_codes", enrolment.EnrolmentCodesView.as_view()),
    path("device_keys", enrolment.DeviceKeysView.as_view()),
    path("device_keys/<str:thumbprint>", enrolment.DeviceKeyView.as_view()),
    path("device_keys/<str:thumbprint>/revocations", enrolment.DeviceKeyRevocationsView.as_view()),
    path("units", units.UnitsView.as_view()),
    path("units/<uuid:unit>", units.UnitView.as_view()),
    path("couplings", couplings.CouplingsView.as_view()),
    path("couplings/<uuid:coupling>", couplings.CouplingView.as_view()),
    path("top_plates", couplings.TopPlatesView.as_view()),
    path("top_plates/<uuid:top_plate>", couplings.TopPlateView.as_view()),
]
