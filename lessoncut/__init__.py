"""Turn one raw take of a pronunciation lesson and its script into the finished lesson."""

__version__ = "0.1.0"
