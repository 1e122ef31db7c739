"""The bench's answers: what the axle's own readings say to the worker who took them. At the press so far.

`answer` is the shape of every answer; `given` is what one is worked out from; `advice` names those a card may ask for.
Nothing here knows Django, the database or a page: `measurements.engineering` does the arithmetic.
"""
