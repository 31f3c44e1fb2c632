"""One rule of a draft in its form, and a gap that a person does without."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from registry.access import Verb
from scheduling.actions.drafting import save_rule, waive_gap
from scheduling.domain.draft_tables import LISTS, TABLE_OF, DraftError, DraftTables
from scheduling.domain.gaps import Part
from scheduling.domain.sources import Mark
from scheduling.forms.plain import PlainForm, long_field
from scheduling.forms.rule_base import MATCH, RuleForm
from scheduling.forms.rules import FORMS, NAMES
from scheduling.models import Rulebook
from scheduling.views.desk import Desk, at_desk
from scheduling.views.drafts import draft_or_404, seen_by


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def rule(request: HttpRequest, desk: Desk, pk: int, part: str, place: int) -> HttpResponse:
    """The form of a rule; place 0 adds one. Nonsense comes back with its reason."""
    row = draft_or_404(desk, pk=pk)
    if part not in FORMS:
        raise Http404("There is no such kind of rule.")
    tables = DraftTables.of(row.text)
    fills = str(request.POST.get("fills") or request.GET.get("gap") or "")[:200]
    form = _form(request, tables=tables, part=part, place=place, fills=fills)
    if request.method == "POST" and form.is_valid():
        try:
            after = save_rule(
                seen=seen_by(request, desk, pk=pk),
                part=part,
                place=place - 1 if place else None,
                cells=form.cells(),
                hand=desk.hand(),
                fills=fills,
            )
        except DraftError as error:
            form.tell(error.faults)
        else:
            messages.success(request, _kept(part, fills=fills, gaps=after.gaps))
            return redirect("rulebook-draft", code=desk.program.code, pk=pk)
    context = {
        "desk": desk,
        "row": row,
        "form": form,
        "title": f"{'Change the' if place else 'Add a'} {NAMES[part]}".replace(" a e", " an e"),
        "part": part,
        "place": place,
        "is_listed": part in LISTS and place,
        "fills": fills,
    }
    return render(request, "scheduling/rulebook_form.html", context)


def _kept(part: str, *, fills: str, gaps: Sequence[str]) -> str:
    said = f"The {NAMES[part]} is kept in the draft."
    if not fills:
        return said
    if fills in gaps:
        return f"{said} Gap “{fills}” stays open: more rules belong in it."
    return f"{said} Gap “{fills}” is filled."


def _form(
    request: HttpRequest, *, tables: DraftTables, part: str, place: int, fills: str
) -> RuleForm:
    kind = FORMS[part]
    kinds = [str(one.get("name", "")) for one in tables.rows("kind")] or ["test"]
    initial: dict[str, Any] = {"mark": Mark.LOCAL.value}
    if place:
        try:
            initial = kind.initial_of(tables.cells(part=part, place=place - 1))
        except DraftError as error:
            raise Http404(str(error)) from error
    elif fills:
        gap = next((one for one in tables.rows("gap") if one.get("name") == fills), {})
        initial |= {name: gap[name] for name in (*MATCH, "kind") if name in gap}
        initial["id"] = fills
    return kind(request.POST or None, initial=initial, kinds=kinds)


class WaiverForm(PlainForm):
    """Why the rulebook may do without."""

    widths = {"reason": "full"}
    reason = long_field("Why it may do without")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].required = True
        self.fields["reason"].error_messages["required"] = "Say why: it is kept by your name."


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def gap(request: HttpRequest, desk: Desk, pk: int, place: int) -> HttpResponse:
    """Do without what a gap names, by one's own name and with a reason."""
    row = draft_or_404(desk, pk=pk)
    found = _gap(row, place=place)
    form = WaiverForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            waive_gap(
                seen=seen_by(request, desk, pk=pk),
                gap=found["name"],
                hand=desk.hand(reason=form.cleaned_data["reason"]),
            )
        except DraftError as error:
            form.add_error(None, list(error.faults))
        else:
            messages.success(request, f"The rulebook does without “{found['name']}”.")
            return redirect("rulebook-draft", code=desk.program.code, pk=pk)
    part = TABLE_OF[Part(found["part"])]
    context = {
        "desk": desk,
        "row": row,
        "form": form,
        "title": f"Do without “{found['name']}”",
        "gap": found,
        "gap_part": NAMES[part],
    }
    return render(request, "scheduling/rulebook_form.html", context)


def _gap(row: Rulebook, *, place: int) -> dict[str, Any]:
    rows = DraftTables.of(row.text).rows("gap")
    if not 1 <= place <= len(rows):
        raise Http404("There is no such gap.")
    return rows[place - 1]
