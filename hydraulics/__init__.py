"""Physics of granular media without a clock: scalar laws and small frozen records, SI only.

Import the module that holds what is needed (`from hydraulics.capture import exchange`). Importing any of
them loads the standard library and nothing else: the kernel compiler and the water properties come when
they are first asked for.
"""
