"""The page: one HTML file that needs no network and no script, made of the same pieces as the review on the screen."""

from __future__ import annotations

from taxcalc.reports.page.destination import destination_page
from taxcalc.reports.page.review import review_page

__all__ = ["destination_page", "review_page"]
