"""What is heard in the take: speech, words, and exact edges."""

import os

# Before huggingface_hub is imported anywhere: nothing here calls home.
os.environ.setdefault("HF_HUB_DISABLE_TELEMETRY", "1")
