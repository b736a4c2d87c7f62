"""A headless Chromium without a network, for tests that look at a page as a reader does."""

from __future__ import annotations

import json
import shutil
from contextlib import contextmanager
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from selenium.webdriver import Chrome

OPTIONS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    *("--disable-dev-shm-usage", "--hide-scrollbars", "--host-resolver-rules=MAP * ~NOTFOUND"),
)
BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def missing() -> str:
    """Say what is not installed; empty where all is there."""
    if not find_spec("selenium"):
        return "the module `selenium` is not installed; it is part of the extra `test`"
    if not (any(map(shutil.which, BROWSERS)) and shutil.which("chromedriver")):
        return "no Chromium with its driver is installed"
    return ""


@contextmanager
def chromium(profile: Path, *, dark: bool = False, script: bool = True) -> Iterator[Chrome]:
    """Start a browser with a profile of its own, in light or dark colours, with or without JavaScript."""
    from selenium import webdriver  # noqa: PLC0415 - an extra that may be missing

    options = webdriver.ChromeOptions()
    options.binary_location = next(filter(None, map(shutil.which, BROWSERS)))
    for option in (*OPTIONS, f"--user-data-dir={profile}"):
        options.add_argument(option)
    if not script:
        options.add_experimental_option("prefs", {"profile.managed_default_content_settings.javascript": 2})
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))
    try:
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})
        yield browser
    finally:
        browser.quit()


def requests_of(browser: Chrome) -> list[str]:
    """Give the addresses that the page asked for since the last look."""
    events = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    return [
        event["params"]["request"]["url"]
        for event in events
        if event["method"] == "Network.requestWillBeSent"
    ]


def sized(browser: Chrome, width: int, height: int = 900, zoom: float = 1) -> None:
    """Show the page in a window of some CSS pixels; `zoom` is the number of device pixels in one."""
    size: dict[str, Any] = {
        "width": width,
        "height": height,
        "deviceScaleFactor": zoom,
        "mobile": width < 500,
    }
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
