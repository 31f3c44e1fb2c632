"""Addresses of Today, the registry, one assembly, rounds, field tests, and the health check."""

from django.urls import URLPattern, URLResolver, include, path

from reports.views import (
    assembly,
    comparison_moves,
    evidence,
    feeds,
    fieldtests,
    figures,
    health,
    levelling,
    merging,
    planning,
    registry,
    round_changes,
    round_files,
    rounds,
    rulebook_comparison,
    runs,
    today,
)

_P = "p/<slug:code>/"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("reports.entry_urls")),
    path("", include("reports.after_urls")),
    path("", include("reports.judging_urls")),
    path(f"{_P}rulebook/compare/", rulebook_comparison.compare, name="rulebook-compare"),
    path(f"{_P}rulebook/compare/moves/", comparison_moves.moves, name="rulebook-compare-moves"),
    path(
        f"{_P}rulebook/drafts/<int:pk>/put-in-force/",
        rulebook_comparison.enforce,
        name="rulebook-draft-enforce",
    ),
    path("healthz", health.health, name="healthz"),
    path(_P, today.today, name="today"),
    path(f"{_P}runs/", runs.runs, name="runs"),
    path(f"{_P}figures/", figures.figures, name="figures"),
    path(f"{_P}levelling/", levelling.levelling, name="levelling"),
    path(f"{_P}levelling/apply/", levelling.levelling_apply, name="levelling-apply"),
    path(f"{_P}levelling/<int:pk>/undo/", levelling.levelling_undo, name="levelling-undo"),
    path(f"{_P}registry/", registry.registry, name="registry"),
    path(f"{_P}registry/map.json", registry.registry_map, name="registry-map"),
    path(f"{_P}assemblies/<int:pk>/", assembly.assembly, name="assembly"),
    path(f"{_P}premises/<int:pk>/evidence/", evidence.evidence, name="evidence"),
    path(f"{_P}merges/", merging.merges, name="merges"),
    path(f"{_P}merges/parties/", merging.merge_two_parties, name="merge-parties"),
    path(f"{_P}merges/assemblies/", merging.merge_two_assemblies, name="merge-assemblies"),
    path(f"{_P}merges/<int:pk>/undo/", merging.merge_undo, name="merge-undo"),
    path("calendars/<str:secret>.ics", feeds.calendar_feed, name="calendar-feed"),
    path(f"{_P}calendars/", feeds.calendars, name="calendars"),
    path(f"{_P}calendars/<int:pk>/revoke/", feeds.calendar_revoke, name="calendar-revoke"),
    path(f"{_P}rounds/", rounds.rounds, name="rounds"),
    path(f"{_P}rounds/plan/", planning.plan_week, name="plan-week"),
    path(f"{_P}rounds/plan/enough/", planning.plan_enough, name="plan-enough"),
    path(f"{_P}rounds/plan/keep/", planning.plan_keep, name="plan-keep"),
    path(f"{_P}rounds/new-visit/", round_changes.round_slots, name="round-slots"),
    path(f"{_P}rounds/stops/<int:pk>/", round_changes.round_stop, name="round-stop"),
    path(f"{_P}rounds/changes/<int:pk>/undo/", round_changes.round_undo, name="round-undo"),
    path(f"{_P}rounds/<int:pk>/", rounds.round_day, name="round"),
    path(f"{_P}rounds/<int:pk>.pdf", round_files.round_sheet, name="round-sheet"),
    path(f"{_P}rounds/<int:pk>.gpx", round_files.round_gpx, name="round-gpx"),
    path(f"{_P}rounds/<int:pk>.geojson", round_files.round_geojson, name="round-geojson"),
    path(f"{_P}field-tests/", fieldtests.field_tests, name="field-tests"),
    path(f"{_P}field-tests/<int:pk>/", fieldtests.field_test, name="field-test"),
    path(
        f"{_P}field-tests/<int:pk>/settle/", fieldtests.field_test_settle, name="field-test-settle"
    ),
    path(f"{_P}field-tests/<int:pk>/take/", fieldtests.field_test_take, name="field-test-take"),
]
