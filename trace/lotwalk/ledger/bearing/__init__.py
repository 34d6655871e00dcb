"""What lots stand on and in: one notion for the uses that entries get, for the judges and for what is told.

A lot stands on the media, trays and covers, and in the tanks and containers, that its making touched; which fields name
those stands in the kind files. It stands on them until it is finished, and in them until they are emptied too.
"""
