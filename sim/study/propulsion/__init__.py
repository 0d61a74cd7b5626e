"""Propellers and packs against what was measured, and which propeller to fit."""
