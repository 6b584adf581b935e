"""XML of a workbook: namespaces, safe reading, writing that keeps prefixes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lxml import etree

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
RELATION = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE_RELATION = "http://schemas.openxmlformats.org/package/2006/relationships"
CONTENT_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"

Element = etree._Element

# fmt: off
WORKBOOK_ORDER = (
    "fileVersion", "fileSharing", "workbookPr", "workbookProtection", "bookViews", "sheets", "functionGroups",
    "externalReferences", "definedNames", "calcPr", "oleSize", "customWorkbookViews", "pivotCaches", "smartTagPr",
    "smartTagTypes", "webPublishing", "fileRecoveryPr", "webPublishObjects", "extLst",
)
STYLES_ORDER = (
    "numFmts", "fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs", "tableStyles",
    "colors", "extLst",
)
SHEET_ORDER = (
    "sheetPr", "dimension", "sheetViews", "sheetFormatPr", "cols", "sheetData", "sheetCalcPr", "sheetProtection",
    "protectedRanges", "scenarios", "autoFilter", "sortState", "dataConsolidate", "customSheetViews", "mergeCells",
    "phoneticPr", "conditionalFormatting", "dataValidations", "hyperlinks", "printOptions", "pageMargins",
    "pageSetup", "headerFooter", "rowBreaks", "colBreaks", "customProperties", "cellWatches", "ignoredErrors",
    "smartTags", "drawing", "legacyDrawing", "legacyDrawingHF", "drawingHF", "picture", "oleObjects", "controls",
    "webPublishItems", "tableParts", "extLst",
)
# fmt: on


def tag(name: str) -> str:
    """The full name of an element of the spreadsheet namespace."""
    return f"{{{MAIN}}}{name}"


def local(element: Element) -> str:
    """The name without its namespace; blank for a comment."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def parse(data: bytes) -> Element:
    """The root of an XML part. No entity is resolved and nothing is fetched.

    Raises etree.XMLSyntaxError (a ValueError in plain words is the caller's) for text that is not XML.
    """
    return etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False))


def dump(root: Element) -> bytes:
    """The part's bytes. Prefixes stay: `mc:Ignorable` names them, a renamed one makes the file unreadable."""
    out: bytes = etree.tostring(root.getroottree(), xml_declaration=True, encoding="UTF-8", standalone=True)
    return out


def make(kind: str, /, **attributes: str) -> Element:
    """A new element of the spreadsheet namespace, free of other prefixes."""
    element = etree.fromstring(f'<{kind} xmlns="{MAIN}"/>'.encode())
    for attribute, value in attributes.items():
        element.set(attribute, value)
    return element


def place(root: Element, child: Element, order: Sequence[str]) -> Element:
    """Put the child where the schema wants it: programs repair a file whose elements are out of order."""
    rank = order.index(local(child))
    before = [e for e in root if local(e) in order and order.index(local(e)) <= rank]
    if before:
        before[-1].addnext(child)
    else:
        root.insert(0, child)
    return child


def ensure(root: Element, name: str, order: Sequence[str]) -> Element:
    """The child of that name, made in its place where it is missing."""
    found = root.find(tag(name))
    return place(root, make(name), order) if found is None else found


def whole(element: Element, attribute: str, default: int = 0) -> int:
    """An attribute as a whole number; the default where it is missing or no number."""
    text = element.get(attribute, "")
    return int(text) if text.isascii() and text.isdigit() else default


def each(root: Element | None) -> Iterator[Element]:
    """The child elements, comments left out; nothing for a missing collection."""
    return iter(()) if root is None else root.iterchildren("*")


Key = tuple[object, ...]


def key(element: Element) -> Key:
    """What makes two records the same, whatever their prefixes and the order of their attributes."""
    children = tuple(key(child) for child in each(element)) if len(element) else ()
    return element.tag, element.text or "", tuple(sorted(element.items())), children
