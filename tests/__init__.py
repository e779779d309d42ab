"""Tests of loopplan."""
