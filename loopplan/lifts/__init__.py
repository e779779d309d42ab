"""Lifts: elements that add head."""
