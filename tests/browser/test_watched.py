"""What is watched for is seen: each fault, made on purpose."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Error

from .conftest import NewPage
from .modules import ORIGIN, Module
from .watch import Watch, until

FAULTS = {
    "console.error('a')": "console error: a",
    "console.warn('b')": "console warning: b",
    "setTimeout(() => { throw new Error('c') })": "page error: c",
    "void Promise.reject(new Error('d'))": "page error: d",
    "fetch('http://127.0.0.2:9/x').catch(() => {})": "request to another host: GET http://127.0",
    "document.body.innerHTML = '<p style=\"color: red\">'": "Content Security Policy",
    "new Image().src = 'http://127.0.0.2:9/y'": "Content Security Policy",
}


@pytest.mark.parametrize(("script", "said"), FAULTS.items(), ids=[*"abcdefg"])
def test_a_fault_is_heard(new_page: NewPage, watch: Watch, script: str, said: str) -> None:
    page = new_page()
    policy = {"Content-Security-Policy": "default-src 'none'; connect-src *"}
    page.route(f"{ORIGIN}/", lambda route: route.fulfill(headers=policy, body="<p>hello"))
    watch.hosts.add("page.test")
    page.goto(f"{ORIGIN}/")
    watch.check()
    page.evaluate(f"() => {{ {script} }}")
    until(page, lambda: watch.heard)
    with pytest.raises(AssertionError, match="did what it may not") as failed:
        watch.check()
    assert said in str(failed.value)
    watch.expect(".")


def test_a_module_that_is_not_there(module_page: Callable[[str], Module], watch: Watch) -> None:
    with pytest.raises(Error, match="Failed to fetch dynamically imported module"):
        module_page("js/no-such.js")
    watch.expect("404")
