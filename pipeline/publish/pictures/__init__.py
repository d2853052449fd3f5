"""Pictures and words for a shop, from a set's finished files and nothing else.

The pages in them are read back from the PDFs by ``pipeline.proof``; table, light, paper and
binder are made in code. ``views.py`` and ``sizes.py`` say what lies where, ``desk.py`` how it
looks, ``binder.py`` and ``flap.py`` how pages lie in rings and flaps turn, ``moving.py`` lets
them open, ``alt.py`` and ``listing.py`` put it into words (``words/``, a file a language).
"""

from pipeline.publish.pictures.facts import SetFacts, read_facts
from pipeline.publish.pictures.listing import listing
from pipeline.publish.pictures.making import CROPS, ShopPictures, shop_pictures
from pipeline.publish.pictures.watermark import WATERMARK, read_watermark

__all__ = [
    "CROPS",
    "WATERMARK",
    "SetFacts",
    "ShopPictures",
    "listing",
    "read_facts",
    "read_watermark",
    "shop_pictures",
]
