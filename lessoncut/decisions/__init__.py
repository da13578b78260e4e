"""What the teacher chose. The log only grows; undo and redo are lines of it.

``log`` reads and writes the lines, ``subjects`` names what a decision is about, ``resolve`` finds it again in an
analysis, and ``effects`` says what findings and decisions change about the lesson.
"""
