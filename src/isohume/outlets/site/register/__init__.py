"""What the laboratory owns: instruments, methods, reference solutions, products and their specifications."""
