"""Addresses of what comes before a plan: jobs, calls, assignments, wishes, how testers work."""

from django.urls import path

from reports.views import assigning, jobs, planning_ways, wishes

_R = "p/<slug:code>/rounds/"

urlpatterns = [
    path(f"{_R}jobs/", jobs.round_jobs, name="round-jobs"),
    path(f"{_R}jobs/new/<int:pk>/", jobs.round_job_new, name="round-job-new"),
    path(f"{_R}jobs/<int:pk>/cancel/", jobs.round_job_cancel, name="round-job-cancel"),
    path(f"{_R}calls/", jobs.round_calls, name="round-calls"),
    path(f"{_R}calls/<int:pk>/", jobs.round_call, name="round-call"),
    path(f"{_R}assign/", assigning.round_assign, name="round-assign"),
    path(f"{_R}assign/file/", assigning.round_assign_file, name="round-assign-file"),
    path(f"{_R}not-wanted/<int:pk>/", wishes.round_wishes, name="round-wishes"),
    path(f"{_R}not-wanted/<int:pk>/end/", wishes.round_wish_end, name="round-wish-end"),
    path(f"{_R}rules/", planning_ways.round_rules, name="round-rules"),
    path(f"{_R}testers/", planning_ways.round_testers, name="round-testers"),
    path(f"{_R}testers/<int:pk>/", planning_ways.round_tester, name="round-tester"),
    path(f"{_R}companies/<int:pk>/", planning_ways.round_firm, name="round-firm"),
]
