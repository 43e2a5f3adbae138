"""Entries of a bench that lost its network: kept on the tablet, sent when it is back, shown until they are settled."""
