"""Copies of the studio that prove themselves, and the ways back from them.

``core`` is plain Python: what a copy says of itself, the sealed file, which copies are kept.
``write`` makes a copy and reads it back, ``restore`` brings one back, ``night`` makes one each
night, ``second`` keeps them somewhere else, ``erasures`` remembers who is to stay erased.
"""
