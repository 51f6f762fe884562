"""Carry-over: the chance that a living stage of *Cryptocaryon irritans* is still with a batch.

A model of its life cycle on the record of one batch. It informs a decision; it never says
whether a batch may be certified, and it is no diagnosis.
"""

from protocols.carryover.assessing import Assessment, assess, assess_many
from protocols.carryover.counts import counts
from protocols.carryover.parameters import VERSION
from protocols.carryover.risk import Risk, risk

__all__ = ["VERSION", "Assessment", "Risk", "assess", "assess_many", "counts", "risk"]
