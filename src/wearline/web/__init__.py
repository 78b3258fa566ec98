"""The web app for the shop's tablets, and the same answers for other programs over HTTP."""
