"""The door for a web server."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
site = get_wsgi_application()


def application(environ, start_response):
    """Answer one request. A HEAD gets the head alone: a body after it would be taken for the answer to the next request on that line."""
    body = site(environ, start_response)
    if environ["REQUEST_METHOD"] != "HEAD":
        return body
    if hasattr(body, "close"):
        body.close()
    return []
