"""Tables of the record."""

from .blob import Blob
from .checkpoint import Checkpoint, Inspection, Leaf, SigningKey
from .event import Event, Head
from .job import Job
from .signature import Signature
from .submission import Submission

__all__ = [
    "Blob",
    "Checkpoint",
    "Event",
    "Head",
    "Inspection",
    "Job",
    "Leaf",
    "Signature",
    "SigningKey",
    "Submission",
]
