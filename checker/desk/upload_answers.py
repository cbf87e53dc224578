"""Uploads that begin at the moment in which a page is drawn anew are not lost.

A browser asks where to send a file, and Streamlit queues the answer with what it draws. When a run
begins, it forgets what is queued (``ForwardMsgQueue.clear``), that answer too, and the upload waits
for it for ever.
"""

from __future__ import annotations

from streamlit.runtime.forward_msg_queue import ForwardMsgQueue

_clear = ForwardMsgQueue.clear


def keep_answers() -> None:
    """From now on, answers to a browser that wants to upload stay in the queue until sent."""
    ForwardMsgQueue.clear = _clear_drawing  # type: ignore[method-assign, assignment]


def _clear_drawing(
    queue: ForwardMsgQueue,
    retain_lifecycle_msgs: bool = False,
    fragment_ids_this_run: list[str] | None = None,
) -> None:
    """``retain_lifecycle_msgs`` is set where a run begins, not where the queue was sent."""
    before = queue._queue
    _clear(queue, retain_lifecycle_msgs, fragment_ids_this_run)
    if retain_lifecycle_msgs:
        answers = [one for one in before if one.WhichOneof("type") == "file_urls_response"]
        queue._queue += [one for one in answers if not any(one is kept for kept in queue._queue)]
