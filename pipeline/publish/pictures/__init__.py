"""Pictures and words for a shop, from a set's finished files and nothing else.

The pages in them are read back from the PDFs by ``pipeline.proof``; table, light, paper and
binder are drawn in code. ``scenery.py`` says what the table is like, ``handwriting.py`` what is
written on pages; ``views.py`` and ``leaves.py`` say what lies where, ``table.py`` how it
looks, ``openbinder.py`` how pages lie in rings and flaps turn; ``listing.py`` puts it into words,
and ``shoppictures.py`` writes the files.
"""
