"""Where a mail provider posts bounces: signed, or nothing is taken."""

from __future__ import annotations

import json

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from notices.delivery.bounce_reading import LONGEST, read_bounce
from notices.delivery.bouncing import take_bounce
from notices.delivery.hooks import is_signed
from notices.domain.bounces import Bounce, status_in


@csrf_exempt
@require_POST
def mail_bounces(request: HttpRequest) -> HttpResponse:
    """Take a bounce: a message as it came (message/rfc822), or JSON with `message_id`.

    JSON besides: `kind` (failed or delayed), `status` and `words`. The signature is asked for
    before anything is read into.
    """
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not length.isdigit() or int(length) > LONGEST:
        return JsonResponse({"error": "too large"}, status=413)
    body = request.body
    now = timezone.now()
    if not is_signed(
        key=settings.BOUNCE_KEY, headers=request.headers, body=body, now=now.timestamp()
    ):
        return JsonResponse({"error": "not signed"}, status=403)
    is_message = request.content_type == "message/rfc822"
    bounce = read_bounce(body) if is_message else _from_json(body)
    if bounce is None:
        return JsonResponse({"error": "no bounce"}, status=400)
    heard = take_bounce(bounce, source=body.decode("utf-8", errors="replace"), at=now)
    return JsonResponse({"heard": heard})


def _from_json(body: bytes) -> Bounce | None:
    try:
        said = json.loads(body)
    except ValueError:
        return None
    if not isinstance(said, dict) or said.get("kind") not in {"failed", "delayed"}:
        return None
    name = str(said.get("message_id", "")).strip().strip("<>")
    token = name.partition("@")[0].lower()
    if not token:
        return None
    words = " ".join(str(said.get("words", "")).split())[:500]
    return Bounce(
        tokens=(token,),
        is_final=said["kind"] == "failed",
        status=status_in(str(said.get("status", ""))) or status_in(words),
        words=words,
    )
