"""What Streamlit would forget of an upload that is about to begin."""

from __future__ import annotations

import pytest
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from streamlit.runtime.forward_msg_queue import ForwardMsgQueue

from checker.desk import upload_answers


@pytest.mark.parametrize("fragments", [None, ["a fragment"]])
def test_an_answer_outlives_the_begin_of_a_run(
    fragments: list[str] | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ForwardMsgQueue, "clear", ForwardMsgQueue.clear)  # undone afterwards
    upload_answers.keep_answers()
    queue = ForwardMsgQueue()
    answer, drawn = ForwardMsg(), ForwardMsg()
    answer.file_urls_response.response_id = "asked"
    drawn.delta.new_element.text.body = "old"
    drawn.delta.fragment_id = "a fragment"
    queue.enqueue(drawn)
    queue.enqueue(answer)
    queue.clear(retain_lifecycle_msgs=True, fragment_ids_this_run=fragments)
    left = queue.flush()
    assert [one.file_urls_response.response_id for one in left] == ["asked"]
    assert queue.flush() == []  # it was sent, once
