"""What all tests start from: interrupts and a closed terminal are heard, also in the background."""

import signal

# A shell that starts the suite in the background, or with nohup, has these ignored, and so would
# have every process that a test begins: tests that interrupt a run could not pass.
for name in ("SIGINT", "SIGHUP"):
    number = getattr(signal, name, None)
    if number is not None and signal.getsignal(number) is signal.SIG_IGN:
        signal.signal(number, signal.default_int_handler if name == "SIGINT" else signal.SIG_DFL)
