"""Reading the text of a label: words, phrases, warnings and denials.

Begin with ``reader``, which takes one text through the others in this order: ``spelling`` folds its letters (and
``mark_up`` blanks tags), ``cut_text`` cuts it into words, ``phrased`` finds the phrases of the tables in them; at each
phrase ``denials``, ``precautions`` or ``context`` says what it means there; ``no_list`` and ``readable`` say whether
the text lists ingredients at all. ``words`` and ``phrases`` are the tables and the tree made of them, ``evidence`` is
what comes out, ``marked`` cuts the text at it to show it. ``exempt`` takes out what does not count as gluten, where a
statement is read for gluten alone.
"""
