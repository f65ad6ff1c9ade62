"""What a drawing is taken to mean: pieces, edges, seams, levels and marks, proposed and put right."""
