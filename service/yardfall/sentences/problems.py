"""What to do about each kind of problem, for the page that its `type` leads to."""

from __future__ import annotations

from typing import Final

TEXTS: Final = {
    "not-readable": "The request could not be read: its body is not JSON, or a header is written "
    "in a way that this service does not take. The problem's detail says which. Mend that and "
    "send it again; the same request will be refused again.",
    "key-needed": "This service has keys, and the request carried none that it knows. Send one as "
    "Authorization: Bearer, followed by the key. Whoever runs the service makes keys; one that was "
    "revoked opens nothing any more.",
    "not-allowed": "The key that was sent is not for this, or the request came from another site's "
    "page, or from another machine to a service that has no keys yet. The detail says which. Ask "
    "whoever runs the service for a key that is for it.",
    "not-there": "Nothing is kept under that id, or no call has that address. What was deleted "
    "cannot be read again, and what another key keeps is not there for yours.",
    "wrong-method": "This address does not take that method. The Allow header of the answer names "
    "those that it does take.",
    "still-running": "An earlier request with the same Idempotency-Key is still being answered. "
    "Wait as long as Retry-After says and send the very same request again: it will get the "
    "answer of the first.",
    "saved-meanwhile": "Somebody else changed the job after you read it, so your change was not "
    "kept. Read the job again, put your change into what it holds now, and save that with the new "
    "ETag in If-Match.",
    "too-large": "The request is over a limit, which the detail names: of the body, of a file, of "
    "what a call may be asked at once, or of what your key may keep. Send less, or delete what is "
    "no longer needed.",
    "wrong-content-type": "Calls that take a file take multipart/form-data; all others take "
    "application/json. Set Content-Type to match what you send.",
    "cannot-be-computed": "The request was read, but no answer can be worked out from it. Each of "
    "its errors points into what was sent and says what would be right. Mend those; the same "
    "request will be refused again.",
    "if-match-needed": "A job is changed or deleted only by whoever has seen its newest state. "
    "Read the job, and send its ETag as If-Match with your change.",
    "too-many-requests": "Your key asked for more at once than it may. Wait as long as Retry-After "
    "says, then send fewer requests at a time. RateLimit tells how many are left.",
    "fault-of-ours": "The service failed, and wrote what happened into its log. Nothing is wrong "
    "with your request. Tell whoever runs the service the X-Request-Id of the answer.",
    "try-again": "The service is busy, is being started or stopped, or something that it stands on "
    "does not answer. Nothing was changed. Send the same request again after Retry-After.",
    "disk-full": "The service's disk is full, so nothing was kept. Deleting still works. Tell "
    "whoever runs the service.",
    "file-refused": "The file that was sent is not of a kind that this call takes, or is damaged. "
    "The detail says what was found and what is taken.",
    "out-of-time": "The sum took longer than one request may, so it was given up. Ask for less at "
    "once, as the detail says; or send the same again after Retry-After, when the machine may have "
    "less to do.",
    "key-used-before": "An earlier request with the same Idempotency-Key was another one. Send "
    "each new request with a key of its own, such as a random UUID; use a key again only to send "
    "the very same request again.",
}
