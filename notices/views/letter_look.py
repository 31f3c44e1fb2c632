"""How letters look: colour, logo, languages, paper; and what owner pages take of it."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_safe

from notices.actions.letter_look import keep_look
from notices.domain.colours import read_colour, why_too_pale
from notices.domain.envelopes import (
    USUAL,
    EnvelopeRefusedError,
    SheetSize,
    envelope_of,
    read_envelope,
    usual_envelope,
)
from notices.domain.languages import LanguageWay, languages_in
from notices.models import LetterLogo
from notices.rendering.logos import MOST_BYTES, Logo, LogoRefusedError, read_logo
from registry.access import Verb
from scheduling.forms.plain import PlainForm, text_field
from scheduling.views.desk import Desk, at_desk

_WAYS = [
    (LanguageWay.HEADLINE.value, "the letter in English, the headline in Spanish too"),
    (LanguageWay.WHOLE.value, "the whole letter in English, then the whole letter in Spanish"),
    (LanguageWay.OWN.value, "whole in the recipient\u2019s language, the headline in English too"),
]
_DAY = 86_400


class LookForm(PlainForm):
    """Colour, logo, languages and paper of a program's letters."""

    optional_words = "if any"
    widths = {"colour": "quarter", "logo": "full", "way": "full", "envelope": "half"}

    colour = text_field(
        "Colour",
        longest=7,
        help_text="as #0a5a84; the head of letters, the links of owner pages",
    )
    logo = forms.FileField(
        label="Logo",
        required=False,
        help_text="PNG or JPEG, at most 2 MB; kept small, on white",
        widget=forms.FileInput(attrs={"accept": "image/png,image/jpeg"}),
    )
    without_logo = forms.BooleanField(label="Take the logo away", required=False)
    spanish = forms.ChoiceField(
        label="Spanish",
        choices=[
            ("asked", "only to those whose language is Spanish"),
            ("everybody", "to everybody"),
        ],
    )
    way = forms.ChoiceField(label="A letter with Spanish has", choices=_WAYS)
    sheet = forms.ChoiceField(
        label="Paper",
        choices=[
            (SheetSize.LETTER.value, "US Letter, for a #10 window envelope"),
            (SheetSize.A4.value, "A4, for a DL window envelope"),
        ],
    )
    envelope = text_field(
        "Another envelope",
        longest=60,
        help_text="in mm: envelope, window, from left, from bottom; as 220x110 90x45 20 15",
    )

    read: Logo | None = None
    paper = ""

    def clean_colour(self) -> str:
        """A colour that can be read on paper and on our pages."""
        told = str(self.cleaned_data["colour"]).strip()
        if not told:
            return ""
        colour = read_colour(told)
        if not colour:
            raise forms.ValidationError(f"\u201c{told}\u201d is no colour. Write one as #0a5a84.")
        if why := why_too_pale(colour):
            raise forms.ValidationError(why)
        return colour

    def clean_envelope(self) -> None:
        """Figures by which an address shows; `paper` is what is kept, empty for the usual."""
        told, sheet = str(self.cleaned_data["envelope"]).strip(), self.cleaned_data.get("sheet")
        if sheet is None:
            return
        try:
            found = read_envelope(SheetSize(sheet), told or USUAL[SheetSize(sheet)]).words()
        except EnvelopeRefusedError as refusal:
            raise forms.ValidationError(str(refusal)) from refusal
        self.paper = "" if found == usual_envelope(SheetSize.LETTER).words() else found

    def clean_logo(self) -> None:
        """A picture that can be read and is not too large; `read` is what is kept of it."""
        upload = self.cleaned_data["logo"]
        if isinstance(upload, UploadedFile):
            try:
                self.read = read_logo(upload.read(MOST_BYTES + 1))
            except LogoRefusedError as refusal:
                raise forms.ValidationError(str(refusal)) from refusal


@require_http_methods(["GET", "HEAD", "POST"])
@at_desk(verb=Verb.SET_UP)
def letter_look(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The form; letters composed from then on look so."""
    program = desk.program
    head = program.letterhead or {}
    envelope = envelope_of(str(head.get("paper") or ""))
    is_usual = envelope == usual_envelope(envelope.sheet)
    initial = {
        "sheet": envelope.sheet.value,
        "envelope": "" if is_usual else envelope.words().partition(" ")[2],
        "colour": head.get("colour", ""),
        "spanish": "everybody" if "es" in languages_in(program.languages) else "asked",
        "way": LanguageWay.of(head).value,
    }
    form = LookForm(request.POST or None, request.FILES or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        keep_look(
            program,
            colour=told["colour"],
            way=LanguageWay(told["way"]),
            languages="en,es" if told["spanish"] == "everybody" else "en",
            hand=desk.hand(),
            logo=form.read,
            without_logo=told["without_logo"],
            paper=form.paper,
        )
        messages.success(request, "Kept. Letters composed from now on look so.")
        return redirect("letter-look", program.code)
    context = {"desk": desk, "form": form, "logo": head.get("logo", "")}
    status = 422 if form.errors else 200
    return render(request, "notices/letter_look.html", context, status=status)


@require_safe
@cache_control(max_age=_DAY, public=True)
def look_css(_request: HttpRequest, colour: str) -> HttpResponse:
    """A sheet that sets the one colour on owner pages; only of a colour that can be read.

    It follows from its address alone: no program is looked up. In the dark our own blue stands.
    """
    read = read_colour(colour)
    if not read or why_too_pale(read):
        raise Http404("There is no such colour.")
    sheet = f"@media (prefers-color-scheme: light) {{ :root {{ --water: {read}; }} }}\n"
    return HttpResponse(sheet, content_type="text/css")


@require_safe
@cache_control(max_age=_DAY, public=True)
def look_logo(_request: HttpRequest, sha256: str) -> HttpResponse:
    """The logo kept under its digest."""
    found = LetterLogo.objects.filter(sha256=sha256[:64]).values_list("png", flat=True).first()
    if found is None:
        raise Http404("There is no such logo.")
    response = HttpResponse(bytes(found), content_type="image/png")
    response["X-Content-Type-Options"] = "nosniff"
    return response
