"""Text as it stands in XML. The standard library's own takes a web client with it when it is loaded."""

from __future__ import annotations


def escape(text: str) -> str:
    """Text between tags.

    >>> escape("a < b & c")
    'a &lt; b &amp; c'
    """
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def unescape(text: str) -> str:
    """What `escape` and `quoteattr` were given.

    >>> unescape("a &lt; b &amp;amp; c")
    'a < b &amp; c'
    """
    if "&" not in text:
        return text
    return text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", '"').replace("&amp;", "&")


def quoteattr(text: str) -> str:
    """The value of an attribute with its quotation marks; line ends and tabs are kept.

    >>> print(quoteattr('5" x'))
    "5&quot; x"
    """
    text = escape(text).replace('"', "&quot;")
    return '"' + text.replace("\n", "&#10;").replace("\r", "&#13;").replace("\t", "&#9;") + '"'
