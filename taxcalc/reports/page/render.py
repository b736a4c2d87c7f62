"""Templates into a page: everything is escaped, and the page itself forbids what it does not bring along."""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache
from importlib import resources
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

POLICY: Final = (
    "default-src 'none'; style-src '{style}'; script-src '{script}'; base-uri 'none'; form-action 'none'"
)
"""Nothing is loaded, and only the style and the script of the page itself are let in, by their hashes."""


def render(template: str, content: dict[str, Any]) -> str:
    """Fill a template; what the content holds is text, never markup, apart from drawings made here."""
    style = _environment().get_template("page.css").render(printed=_in_css(content["caution"]))
    script = (resources.files(__package__ or __name__) / "templates" / "page.js").read_text(encoding="utf-8")
    policy = POLICY.format(style=_hash(style), script=_hash(script))
    return (
        _environment()
        .get_template(template)
        .render(
            **content,
            style=Markup(style),  # noqa: S704 - ours, and its only variable is written by _in_css
            script=Markup(script),  # noqa: S704 - ours, without a variable
            policy=policy,
        )
    )


@lru_cache(maxsize=1)
def _environment() -> Environment:
    """Read the templates of the package; a name that is missing is a fault, not a blank."""
    found = Environment(
        loader=PackageLoader(__name__.rpartition(".")[0]),
        autoescape=select_autoescape(("html",)),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.filters["drawing"] = _drawing
    return found


def _drawing(svg: str) -> Markup:
    """Let a drawing in as it is; its texts were escaped when it was written as XML."""
    return Markup(svg)  # noqa: S704 - made by reports.pictures, never by a user


def _hash(text: str) -> str:
    """Give the hash of a style or script as a content-security policy names it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _in_css(words: str) -> str:
    """Write words so that they can stand between quotes in a style, whatever they hold."""
    return "".join(sign if sign.isalnum() or sign in " .,:;-" else f"\\{ord(sign):06x}" for sign in words)
