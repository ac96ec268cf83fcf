"""Proofs on the finished bodies: each takes what was made and returns findings, good and bad alike.

Knows the plan and the bodies; changes neither. What a proof finds is a Finding, never an exception.
"""
