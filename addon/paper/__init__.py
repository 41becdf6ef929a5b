"""Pages: what goes onto a sheet of paper, one module or folder for each kind of page.

`sheet` is the paper itself and its writers, `lines` finds the visible edges of parts; on them stand the table, the
exploded view, the filmstrip, variants side by side, the slide page, the tolerance page and the steps of assembly.
"""
