"""Pictures as packets: looked into, copied, joined and checked; with ``take/probe.py`` the only home of PyAV."""
