"""Addresses under a program's rulebook: what may be read, and a draft with its forms."""

from django.urls import path

from scheduling.views import draft_rules, drafts, rulebook

urlpatterns = [
    path("shipped/<slug:name>/", rulebook.shipped, name="rulebook-shipped"),
    path("shipped/<slug:name>/toml/", rulebook.shipped_toml, name="rulebook-shipped-toml"),
    path("editions/<int:pk>/", rulebook.edition, name="rulebook-edition"),
    path("editions/<int:pk>/toml/", rulebook.toml, name="rulebook-toml"),
    path("in-force/<int:pk>/take-back/", drafts.take_back_adoption, name="rulebook-take-back"),
    path("drafts/start/", drafts.start, name="rulebook-draft-start"),
    path("drafts/bring-in/", drafts.upload, name="rulebook-draft-upload"),
    path("drafts/<int:pk>/", drafts.draft, name="rulebook-draft"),
    path("drafts/<int:pk>/head/", drafts.head, name="rulebook-draft-head"),
    path("drafts/<int:pk>/act/", drafts.act, name="rulebook-draft-act"),
    path("drafts/<int:pk>/gaps/<int:place>/", draft_rules.gap, name="rulebook-draft-gap"),
    path("drafts/<int:pk>/<slug:part>/<int:place>/", draft_rules.rule, name="rulebook-draft-rule"),
]
