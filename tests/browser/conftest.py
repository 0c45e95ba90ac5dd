"""A real browser on a live server: the system's Chromium, one for the session, a fresh context for each person."""

import os
import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from apps.people.models import Person

# Playwright's own loop runs in this thread; the ORM is used between its calls, never inside them.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PASSWORD = "alder-mesa-demo-tests"


def chromium() -> str:
    """Return the system's Chromium. The test fails, with what to install, where there is none."""
    names = (os.environ.get("LAMPSTEAD_BROWSER", ""), "chromium", "chromium-browser", "google-chrome")
    found = next((path for name in names if name and (path := shutil.which(name))), None)
    if found is None:
        pytest.fail("No Chromium is installed: on Debian or Ubuntu, apt-get install chromium.")
    return found


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium, once a session."""
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
        yield started
        started.close()


class Visitor:
    """A person before a browser window; keeps what the console and the policy complain of."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.context, self.address = context, address
        self.page: Page = context.new_page()
        self.complaints: list[str] = []
        self.page.on("console", lambda said: self.complaints.append(said.text) if said.type == "error" else None)
        self.page.on("pageerror", lambda fault: self.complaints.append(str(fault)))

    def go(self, path: str) -> Page:
        """Open a path of the live server."""
        self.page.goto(f"{self.address}{path}")
        return self.page

    def sign_in(self, person: Person) -> "Visitor":
        """Sign in through the page, as a person does."""
        person.set_password(PASSWORD)
        person.save()
        self.go("/account/login/")
        self.page.fill("input[name=login]", person.username)
        self.page.fill("input[name=password]", PASSWORD)
        self.page.locator("main button[type=submit], main button.main").first.click()
        self.page.wait_for_url(lambda url: "/account/login" not in url)
        return self


@pytest.fixture
def visit(browser: Browser, live_server: Any) -> Iterator[Callable[..., Visitor]]:
    """Open a window for a person: `visit(inspector, width=390)`; without a person it is a stranger before the door."""
    contexts = []

    def opened(person: Person | None = None, *, width: int = 1366, height: int = 900, script: bool = True) -> Visitor:
        context = browser.new_context(viewport={"width": width, "height": height}, java_script_enabled=script)
        context.set_default_timeout(15_000)
        contexts.append(context)
        visitor = Visitor(context, live_server.url)
        return visitor.sign_in(person) if person else visitor

    yield opened
    for context in contexts:
        context.close()
