"""A browser for the tests that open a page: one program for all of them."""

from __future__ import annotations

import os
import shutil

import pytest


@pytest.fixture(scope="session")
def launch():
    """Start headless Chromium with further flags; skips where there is none, and fails instead where ``CI`` is set."""
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    why = "" if program else "there is no Chromium (on Debian: apt-get install chromium)"
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        why = "there is no playwright (pip install playwright)"
    if why:
        assert "CI" not in os.environ, why
        pytest.skip(why)
    with sync_playwright() as started:
        yield lambda *flags: started.chromium.launch(
            executable_path=program, args=["--no-sandbox", "--disable-gpu", *flags]
        )


@pytest.fixture(scope="session")
def chromium(launch):
    """The browser as it is usually started, with 3D drawn by the processor."""
    started = launch()
    yield started
    started.close()
