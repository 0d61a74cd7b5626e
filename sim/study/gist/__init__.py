"""The gist of an answer: one sentence on top of each report, and what builders ask most"""
