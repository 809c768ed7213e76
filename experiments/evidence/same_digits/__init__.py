"""Whether all compiled forms of the kernels give the same digits: played once, then replayed.

`situations` plays random situations of all kinds, and `recording` writes down what every kernel was
called with and what it gave. `replay` repeats those calls in another form of the same kernels, and
`table` counts the numbers that differ: none, or a form is at fault.
"""
