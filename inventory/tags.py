"""What a tag may be: it is printed on a label and stands in the address of its tree's page."""

TAG_MAX = 40
# Addresses under a tree's own: "A1/edit" as a tag would hide behind the edit page of A1.
_PAGES = {"edit", "photos"}


def fault(tag: str) -> str:
    """Why this cannot be a tag, as the end of a sentence; '' when it can. Slashes may part it: ``ALB/12``."""
    if len(tag) > TAG_MAX:
        return f"the tag has {len(tag)} signs; it can have {TAG_MAX}"
    if not tag.isprintable():
        return "the tag has signs that cannot be printed; type it anew"
    first, *more = tag.split("/")
    if {"", ".", ".."} & {first, *more} or (more and more[-1] in _PAGES):
        return "the tag cannot stand in an address; write for example ALB-12 or ALB/12"
    return ""
