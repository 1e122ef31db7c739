"""The way in and out: typed requests, the gate, guards, submissions, live pages."""

from shop.http.accept import Done, accept, refused
from shop.http.changes import stamp_of, unless_unchanged
from shop.http.draft import own_path
from shop.http.guards import methods, needs, station_only
from shop.http.listing import csv_answer, csv_asked
from shop.http.pages import plain_page
from shop.http.request import Asked, find_or_404, kept_or_404
from shop.record.submission import new_key as new_submission

__all__ = [
    "Asked",
    "Done",
    "accept",
    "csv_answer",
    "csv_asked",
    "find_or_404",
    "kept_or_404",
    "methods",
    "needs",
    "new_submission",
    "own_path",
    "plain_page",
    "refused",
    "stamp_of",
    "station_only",
    "unless_unchanged",
]
