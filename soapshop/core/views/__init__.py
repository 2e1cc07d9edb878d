"""The pages of the workshop itself."""

from django.http import HttpRequest, QueryDict


def posted(request: HttpRequest) -> QueryDict | None:
    """What was sent, even if it is nothing at all; None where the page is only asked for."""
    return request.POST if request.method == "POST" else None
