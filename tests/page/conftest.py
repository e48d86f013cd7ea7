"""Pages opened in a real browser, where there is one."""

from __future__ import annotations

import pytest


@pytest.fixture
def opened(browser):
    """Opens a page from disk in a context of its own; fails the test on any fault of the page."""
    contexts, faults = [], []

    def open_page(path, *, size=(1280, 900), context=None, **more):
        if context is None:
            context = browser.new_context(
                viewport={"width": size[0], "height": size[1]}, accept_downloads=True, **more
            )
            contexts.append(context)
        page = context.new_page()
        address = path.as_uri()
        page.on("console", lambda told: faults.append(f"console: {told.type} {told.text}"))
        page.on("pageerror", lambda error: faults.append(f"error: {error}"))
        page.on(
            "request",
            lambda asked: (
                None
                if asked.url == address or asked.url.startswith(("data:", "blob:"))
                else faults.append(f"request: {asked.url}")
            ),
        )
        page.goto(address)
        page.wait_for_selector("#canvas[data-ready]")
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert faults == []
