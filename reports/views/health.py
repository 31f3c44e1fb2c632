"""Whether the house stands: for machines, without secrets and without names."""

from __future__ import annotations

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from notices.queries.office_clock import faults_of_clocks


@require_safe
@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """200 and `{"ok": true}` while all is well, else 503 and what is wrong in words.

    Wrong is a database that does not answer or is behind its code, a live program whose day
    was not run, and a machine whose clock stands before the last run.
    """
    try:
        executor = MigrationExecutor(connection)
        behind = bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
        if behind:
            return JsonResponse({"ok": False, "database": "waits for migrate"}, status=503)
        faults = faults_of_clocks(now=timezone.now())
    except DatabaseError:
        return JsonResponse({"ok": False, "database": "does not answer"}, status=503)
    told = {"ok": not faults, "database": "answers", "clock": _words(faults)}
    return JsonResponse(told, status=503 if faults else 200)


def _words(faults: list[str]) -> str:
    if not faults:
        return "no day is missing"
    said = "; ".join(sorted(set(faults))[:3])
    return said if len(faults) == 1 else f"in {len(faults)} programs: {said}"
