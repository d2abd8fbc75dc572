"""Let me draw it: a local server, one page, and what stands between the page and the folder.

Takes the owner's folder and, from the page, one stroke at a time.
Gives (`serve`) a page on this computer alone; each stroke is kept in the folder before the page
says so, and the versions before it stay.
"""

from clearing.app.serving import serve

__all__ = ["serve"]
