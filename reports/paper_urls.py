"""Addresses of reports on paper."""

from django.urls import path

from reports.views import entering_paper_files as files
from reports.views import entering_papers as papers

_P = "p/<slug:code>/field-tests/papers/"

urlpatterns = [
    path(_P, papers.papers, name="papers"),
    path(f"{_P}<int:pk>/", papers.paper, name="paper"),
    path(f"{_P}<int:pk>/key/", papers.paper_key, name="paper-key"),
    path(f"{_P}<int:pk>/settle/", papers.paper_settle, name="paper-settle"),
    path(f"{_P}<int:pk>/aside/", papers.paper_aside, name="paper-aside"),
    path(f"{_P}<int:pk>/file/", files.paper_file, name="paper-file"),
    path(f"{_P}<int:pk>/pages/<int:number>/", files.paper_page, name="paper-page"),
    path(f"{_P}<int:pk>/spot/", files.paper_spot, name="paper-spot"),
]
