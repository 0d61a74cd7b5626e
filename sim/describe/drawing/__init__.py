"""Outlines out of drawings: DXF and SVG"""
