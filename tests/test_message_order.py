"""What is typed reaches the panel before the click that follows it, and the browser hears that each is done.

A browser sends the two as separate messages to a kernel. After a message that was never called done it
keeps back what is typed next in the same box, and the panel says that a full box is empty. The kernel
pinned in requirements.txt must do neither.
"""

import pytest
from kernel import Kernel

ROUNDS = 400
PANEL = """
import threading, time
import ipywidgets
box, press, seen, threads = ipywidgets.Text(), ipywidgets.Button(), [], set()
def pressed(_):
    threads.add(threading.get_ident())
    seen.append(box.value or "empty")
    box.value = ""  # as a panel does when it has taken the number
press.on_click(pressed)
box.observe(lambda _: threads.add(threading.get_ident()), "value")
print(box.model_id, press.model_id)
"""


class Browser(Kernel):
    """What a browser does besides: it sends messages to widgets, through a subshell where there is one."""

    subshell: str | None = None

    def open_subshell(self) -> None:
        """Let the widgets have a subshell of their own where the kernel offers one, as JupyterLab does."""
        told = self.client.kernel_info(reply=True, timeout=300)["content"]
        if "kernel subshells" in told.get("supported_features", []):
            asked = self.client.session.msg("create_subshell_request", {})
            self.client.control_channel.send(asked)
            self.subshell = self.client.get_control_msg(timeout=300)["content"]["subshell_id"]

    def send(self, model: str, data: dict) -> str:
        """Send one message to a widget, and return the message's own number."""
        message = self.client.session.msg("comm_msg", {"comm_id": model, "data": data})
        if self.subshell:
            message["header"]["subshell_id"] = self.subshell
        self.client.shell_channel.send(message)
        return message["header"]["msg_id"]


@pytest.fixture
def browser():
    started = Browser()
    yield started
    started.close()


def test_a_click_never_overtakes_what_was_typed(browser):
    box, press = browser.printed(PANEL).split()
    browser.open_subshell()
    sent = []
    for at in range(ROUNDS):
        sent.append(browser.send(box, {"method": "update", "state": {"value": str(at)}, "buffer_paths": []}))
        sent.append(browser.send(press, {"method": "custom", "content": {"event": "click"}}))
    wait = f"for _ in range(3000):\n    if len(seen) == {ROUNDS}: break\n    time.sleep(0.1)\n"
    seen = browser.printed(wait + "print(*seen)")
    assert seen.split() == [str(at) for at in range(ROUNDS)]
    assert browser.printed("print(len(threads))") == "1"
    browser.printed("time.sleep(0.5)")
    assert [number for number in sent if number not in browser.done] == []
