"""Proof: pictures and text read back from the finished PDFs, and pictures compared.

This stage believes only what was written to disk: ``contents.json`` for what should lie where, and
the PDFs, read by pdfium, for what does.
"""
