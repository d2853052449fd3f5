"""Findings: what is wrong with finished print files, before anyone wastes paper on them.

``findings_of`` reads a set's PDFs back with pdfium and holds them against the calendar, the
season's plan and the templates; each ``Finding`` says where and what to do.
"""

from pipeline.proof.findings.checking import findings_of
from pipeline.proof.findings.finding import Finding, Severity
from pipeline.proof.findings.kinds import KINDS

__all__ = ["KINDS", "Finding", "Severity", "findings_of"]
