"""Whether the house stands: for machines, without secrets."""

from __future__ import annotations

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@require_safe
@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """200 and `{"ok": true}`; 503 where the database does not answer or is behind its code."""
    try:
        executor = MigrationExecutor(connection)
        behind = bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
    except DatabaseError:
        return JsonResponse({"ok": False, "database": "does not answer"}, status=503)
    if behind:
        return JsonResponse({"ok": False, "database": "waits for migrate"}, status=503)
    return JsonResponse({"ok": True, "database": "answers"})
