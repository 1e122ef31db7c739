"""Ring and pinion: backlash, shims, depth, contact pattern, hunting tooth.

The cautions at the foot of each advice are part of it: hands clear of the mesh when turning, support the
carrier, mind solvent fumes. A gear maker's sheet that came with the set always wins over these pages.
"""
