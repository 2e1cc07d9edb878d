"""Notes what goes wrong in a browser while a test looks elsewhere."""

from __future__ import annotations

import re

from playwright.sync_api import BrowserContext, ConsoleMessage, Request, Response, WebError

# What Chromium and htmx add to the console about a request that `_answered` or `_request_failed` judges.
OF_A_REQUEST = re.compile(
    r"^(Failed to load resource: the server responded with a status of [45]\d\d"
    r"|htmx:(afterRequest|sendAbort|sendError|responseError)\b)"
)
LEFT_BEFORE_IT_CAME = "net::ERR_ABORTED"
FORM_REFUSED = 422


class Watch:
    """Script errors, console errors, breaches of the content policy, failed requests and bad answers.

    `expected` are the statuses of 400 and above that are no fault.
    """

    def __init__(self, context: BrowserContext) -> None:
        self.faults: list[str] = []
        self.expected = {FORM_REFUSED}
        context.on("weberror", self._script_failed)
        context.on("console", self._said)
        context.on("requestfailed", self._request_failed)
        context.on("response", self._answered)

    def _script_failed(self, error: WebError) -> None:
        self.faults.append(f"script: {error.error}")

    def _said(self, message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"} and not OF_A_REQUEST.match(message.text):
            self.faults.append(f"console: {message.text}")

    def _request_failed(self, request: Request) -> None:
        if request.failure != LEFT_BEFORE_IT_CAME:
            self.faults.append(f"no answer: {request.url} {request.failure}")

    def _answered(self, response: Response) -> None:
        if response.status >= 400 and response.status not in self.expected:
            self.faults.append(f"answer {response.status}: {response.url}")
