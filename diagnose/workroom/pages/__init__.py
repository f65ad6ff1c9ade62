"""The pages, a file for each thing she does: each takes the room and what was asked, and gives an answer."""
