"""The guide: from foam board to first throw, written by running the program"""
