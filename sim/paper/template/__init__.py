"""The airframe as a cutting template at full size"""
