"""One consignment from its packing list to a certificate, told over HTTP as any program can.

Nothing here reaches into the service: it is started beside it, knows its address, and needs no
more than Python's own library and one for signatures.
"""
