"""README and the pages by question: claims, tables and texts from the stored folders."""
