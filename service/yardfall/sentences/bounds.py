"""What one request, one key or one file may not go beyond."""

from __future__ import annotations

from typing import Final

TEXTS: Final = {
    "memory": "This takes more memory than the service has left. Ask for less at once, or try "
    "again in a moment.",
    "waited": "Others' plans are being worked out, and yours has waited {seconds} s for its turn. "
    "Send it again in a moment.",
    "at_once": "This key has {most} requests being answered, the most at once. Wait for one of "
    "them.",
    "clearances": "Outlines of more than 200 points may have at most {most} different clearances "
    "among them. Give several the same.",
    "joined": "A lot line in several parts may have {most} points in all. Draw it as one outline, "
    "or with fewer points.",
    "one_more_error": "One more error is not listed. Mend these first.",
    "more_errors": "{count} more errors are not listed. Mend these first.",
}
