"""What a person sees about themselves: their name, their roles, light or dark."""

from __future__ import annotations

from typing import Final

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_POST

from registry.access import memberships_of

LOOKS: Final = ("light", "dark")
LOOK_COOKIE: Final = "look"
_A_YEAR: Final = 365 * 24 * 3600


@require_GET
@login_required
def yourself(request: HttpRequest) -> HttpResponse:
    """Who is logged in, in which roles, and the way out."""
    roles = memberships_of(request.user).select_related("program", "firm", "party")
    return render(request, "registry/yourself.html", {"roles": roles.order_by("role", "pk")})


@require_POST
def look(request: HttpRequest) -> HttpResponse:
    """Keep a person's choice of light or dark; anything else follows the system."""
    target = request.POST.get("next", "/")
    if not url_has_allowed_host_and_scheme(target, allowed_hosts={request.get_host()}):
        target = "/"
    response = HttpResponseRedirect(target)
    chosen = request.POST.get("look", "")
    if chosen in LOOKS:
        response.set_cookie(LOOK_COOKIE, chosen, max_age=_A_YEAR, samesite="Lax", httponly=True)
    else:
        response.delete_cookie(LOOK_COOKIE, samesite="Lax")
    return response
