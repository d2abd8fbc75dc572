"""The drawing page: a local server, one page, and what stands between the page and the folder."""

from clearing.app.serve import serve

__all__ = ["serve"]
