"""The pages: each asks the app's functions and fills one context, shown as HTML and as its JSON twin."""

from __future__ import annotations

from importlib import import_module

from fastapi import APIRouter

__all__ = ["routers"]

_MODULES = (
    "door",
    "fleet",
    "vehicle",
    "causes",
    "inspection",
    "work",
    "drafts",
    "drill",
    "drill_decide",
    "drill_results",
    "catalogue",
    "shelf",
    "people",
    "settings",
)


def routers() -> list[APIRouter]:
    """Return the routes of every page.

    Returns
    -------
    list of APIRouter
        In the order in which they are tried.
    """
    found = []
    for name in _MODULES:
        router = import_module(f"wearline.web.pages.{name}").router
        assert isinstance(router, APIRouter)
        found.append(router)
    return found
