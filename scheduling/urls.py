"""Addresses of the first page, the registry's forms, spreadsheets, rulebook and settings."""

from django.urls import include, path

from scheduling.views import (
    assemblies,
    decisions,
    home,
    loads,
    premises,
    proposals,
    questions,
    rulebook,
    settings,
    testers,
)

_P = "p/<slug:code>/"

urlpatterns = [
    path("", home.home, name="home"),
    path(f"{_P}premises/new/", premises.premises_new, name="part-new-premises"),
    path(f"{_P}premises/<int:pk>/", premises.premises, name="premises"),
    path(f"{_P}premises/<int:pk>/change/", premises.premises_change, name="premises-change"),
    path(f"{_P}premises/<int:pk>/party/", premises.party_name, name="part-party-name"),
    path(f"{_P}premises/<int:pk>/connection/", premises.connection_new, name="part-connection-new"),
    path(f"{_P}connections/<int:pk>/change/", premises.connection_change, name="connection-change"),
    path(f"{_P}premises/<int:pk>/assembly/", assemblies.assembly_new, name="assembly-new"),
    path(f"{_P}parties/<int:pk>/change/", premises.party_change, name="part-party-change"),
    path(f"{_P}assemblies/<int:pk>/change/", assemblies.assembly_change, name="assembly-change"),
    path(f"{_P}assemblies/<int:pk>/fact/", assemblies.fact_new, name="fact-new"),
    path(f"{_P}facts/<int:pk>/withdraw/", assemblies.fact_withdraw, name="fact-withdraw"),
    path(f"{_P}decisions/", decisions.decisions, name="decisions"),
    path(f"{_P}decisions/new/", decisions.decision_new, name="decision-new"),
    path(f"{_P}decisions/<int:pk>/", decisions.decision, name="decision"),
    path(f"{_P}decisions/<int:pk>/end/", decisions.decision_end, name="decision-end"),
    path(f"{_P}decisions/<int:pk>/review/", decisions.decision_review, name="decision-review"),
    path(f"{_P}testers/", testers.testers, name="testers"),
    path(f"{_P}testers/new/", testers.tester_new, name="tester-new"),
    path(f"{_P}testers/<int:pk>/change/", testers.tester_change, name="tester-change"),
    path(f"{_P}gauges/new/", testers.gauge_new, name="gauge-new"),
    path(f"{_P}gauges/<int:pk>/change/", testers.gauge_change, name="gauge-change"),
    path(f"{_P}questions/", questions.questions, name="questions"),
    path(f"{_P}questions/<int:pk>/settle/", questions.question_settle, name="questions-settle"),
    path(f"{_P}load/", loads.load, name="load"),
    path(f"{_P}load/<slug:token>/preview/", loads.load_preview, name="load-preview"),
    path(f"{_P}load/<slug:token>/bring-in/", loads.load_bring_in, name="load-bring-in"),
    path(f"{_P}load/<slug:token>/line/", loads.load_line, name="load-line"),
    path(f"{_P}load/files/<int:pk>/", loads.load_batch, name="load-batch"),
    path(f"{_P}load/files/<int:pk>/to-mend.csv", loads.load_to_mend, name="load-to-mend"),
    path(f"{_P}proposals/", proposals.proposals, name="proposals"),
    path(f"{_P}proposals/settle/", proposals.proposals_settle, name="proposals-settle"),
    path(f"{_P}proposals/load/", proposals.customers_load, name="proposals-load"),
    path(f"{_P}rulebook/", rulebook.rulebook, name="rulebook"),
    path(f"{_P}rulebook/", include("scheduling.rulebook_urls")),
    path(f"{_P}settings/", settings.settings, name="settings"),
]
