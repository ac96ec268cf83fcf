"""YAML as a person writes it, turned into frozen sections of checked quantities, with every problem's line.

Knows how a file is read and how a field is declared; knows no part family, no elastomer and no printer.
"""

from moldgen.spec.document import Document
from moldgen.spec.sections import Section
from moldgen.spec.validation import validated

__all__ = ["Document", "Section", "validated"]
