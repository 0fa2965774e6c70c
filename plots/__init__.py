"""Everything people look at: figures, the report, the sheets, and the words on them.

Takes pandas tables, numbers in display units and text (`plots.inputs`); runs nothing and knows nothing of `sim`.
"""
