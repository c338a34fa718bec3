"""What a browser notices beside the page: errors, the content policy, other hosts."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Request, Response

TELL_OF_POLICY = """document.addEventListener("securitypolicyviolation", (event) =>
  console.error(`content policy: ${event.violatedDirective} ${event.blockedURI}`));"""


@dataclass
class Watch:
    """Whatever went wrong in a context's pages since it began to be watched."""

    address: str
    wrong: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    """Addresses of pages that the server answered by 4xx: told, not broken."""
    is_offline: bool = False

    def over(self, context: BrowserContext) -> "Watch":
        """Watch every page of a context."""
        context.add_init_script(TELL_OF_POLICY)
        context.on("page", self._page)
        context.on("request", self._request)
        context.on("response", self._response)
        return self

    @contextmanager
    def offline(self, page: Page) -> Iterator[None]:
        """Take the network away; that nothing loads is then no error."""
        self.is_offline = True
        page.context.set_offline(True)
        yield
        page.context.set_offline(False)
        self.is_offline = False

    def _page(self, page: Page) -> None:
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.wrong.append(f"script: {error}"))

    def _console(self, message: ConsoleMessage) -> None:
        if message.type not in ("error", "warning"):
            return
        where = message.location["url"]
        loading = message.text.startswith("Failed to load resource")
        if loading and (self.is_offline or where in self.refused):
            return
        self.wrong.append(f"console: {message.text} ({where})")

    def _request(self, request: Request) -> None:
        inside = (f"{self.address}/", "data:", "blob:")
        if not request.url.startswith(inside):
            self.wrong.append(f"request elsewhere: {request.url}")

    def _response(self, response: Response) -> None:
        is_page = response.request.is_navigation_request()
        if is_page and 400 <= response.status < 500:
            self.refused.append(response.url)
        elif response.status >= 400:
            self.wrong.append(f"{response.status}: {response.url}")
