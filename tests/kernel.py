"""A kernel that a test talks to as a browser does: it runs code and reads what is printed."""

import queue

import pytest
from jupyter_client.manager import start_new_kernel

SILENCE = 300.0  # s; a safety net for a busy machine, not a measure


class Kernel:
    """A running kernel. `done` holds the numbers of the messages that it has called done."""

    def __init__(self):
        self.manager, self.client = start_new_kernel(kernel_name="python3")
        self.done: set[str] = set()

    def printed(self, code: str) -> str:
        """Run code and return what it printed; an error in it fails the test."""
        asked, lines = self.client.execute(code), []
        while asked not in self.done:
            try:
                message = self.client.get_iopub_msg(timeout=SILENCE)
            except queue.Empty:
                pytest.fail("the kernel fell silent")
            about, kind, content = (
                message["parent_header"].get("msg_id"),
                message["msg_type"],
                message["content"],
            )
            if kind == "status" and content["execution_state"] == "idle":
                self.done.add(about)
            if about == asked and kind == "stream" and content["name"] == "stdout":
                lines.append(content["text"])
            if about == asked and kind == "error":
                pytest.fail("\n".join(content["traceback"]))
        return "".join(lines).strip()

    def close(self) -> None:
        self.client.stop_channels()
        self.manager.shutdown_kernel(now=True)
