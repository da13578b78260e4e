"""The review page: a small server on this machine, and a page that shows what the server says.

``desk`` holds the lesson that is reviewed, ``view`` says it to the page, ``asked`` understands the page's answers,
``heard`` makes the sound, ``jobs`` does what takes long, ``guard`` lets nobody else in, ``server`` is the address of
each, and ``open`` runs it. The page in ``static/`` holds no lesson logic.
"""
