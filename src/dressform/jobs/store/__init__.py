"""The store of finished work: what is kept, listed, pruned and exported."""
