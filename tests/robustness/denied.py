"""A process for which there is no network: whoever opens an internet socket, it or a program it runs, is killed.

Denied by the kernel (seccomp(2), classic BPF), so that it holds for native code and for ffmpeg as well as for Python.
Sockets between processes of this machine (AF_UNIX) stay.
"""

from __future__ import annotations

import ctypes
import platform
import signal
import struct
import sys
from collections.abc import Callable

import pytest

KILLED = -signal.SIGSYS
"""The exit code of who tried."""

# linux/audit.h and the tables of system calls: AUDIT_ARCH_..., the number of socket(2).
_MACHINES = {"x86_64": (0xC000003E, 41), "aarch64": (0xC00000B7, 198)}
_AF_INET, _AF_INET6 = 2, 10
_LOAD, _IF_EQUAL, _RETURN = 0x20, 0x15, 0x06
_ALLOW, _KILL_PROCESS = 0x7FFF0000, 0x80000000
_NUMBER, _ARCHITECTURE, _FIRST_ARGUMENT = 0, 4, 16
"""Offsets in struct seccomp_data."""
_PR_SET_NO_NEW_PRIVS, _PR_SET_SECCOMP, _MODE_FILTER = 38, 22, 2


class _Program(ctypes.Structure):
    _fields_ = (("length", ctypes.c_ushort), ("rules", ctypes.c_void_p))


def no_network() -> Callable[[], None]:
    """What ``preexec_fn`` of a new process does. Skips the test where the kernel cannot deny it."""
    if sys.platform != "linux" or platform.machine() not in _MACHINES:
        pytest.skip("the network can be denied on Linux only")
    architecture, socket = _MACHINES[platform.machine()]
    rules = (
        (_LOAD, 0, 0, _ARCHITECTURE),
        (_IF_EQUAL, 0, 5, architecture),
        (_LOAD, 0, 0, _NUMBER),
        (_IF_EQUAL, 0, 3, socket),
        (_LOAD, 0, 0, _FIRST_ARGUMENT),
        (_IF_EQUAL, 2, 0, _AF_INET),
        (_IF_EQUAL, 1, 0, _AF_INET6),
        (_RETURN, 0, 0, _ALLOW),
        (_RETURN, 0, 0, _KILL_PROCESS),
    )
    written = ctypes.create_string_buffer(b"".join(struct.pack("HBBI", *rule) for rule in rules))
    program = _Program(len(rules), ctypes.cast(written, ctypes.c_void_p).value)
    libc = ctypes.CDLL(None, use_errno=True)

    def deny() -> None:
        libc.prctl(_PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0)
        if libc.prctl(_PR_SET_SECCOMP, _MODE_FILTER, ctypes.byref(program), 0, 0):
            raise OSError(ctypes.get_errno(), "the network cannot be denied")
        assert written

    return deny
