"""What leaves a process: files, tables, words on the terminal and progress."""
