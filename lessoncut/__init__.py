"""Turn one raw take of a pronunciation lesson and its script into the finished lesson."""

import os

__version__ = "0.1.0"

# Nothing leaves the machine. onnxruntime, which runs the detector of speech, sends reports of its use to its maker from
# version 1.32 on, and keeps a number for this machine, unless this stands before it is first imported (its Privacy.md).
os.environ["ORT_DISABLE_TELEMETRY"] = "1"
os.environ["HF_HUB_DISABLE_TELEMETRY"] = "1"
