"""Cautions at the counter: facts of published rules, worded as cautions, never as a block.

Plain Python without a database. Each caution names its source and how well that is known.
"""
