"""Pictures that a glTF keeps outside are taken into the GLB, byte for byte."""

from dressform.errors import FileError
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.schema import Image
from dressform.formats.gltf.uris import fetch, is_data, media_type, shorten

SIGNATURES = {
    b"\x89PNG\r\n\x1a\n": "image/png",
    b"\xff\xd8\xff": "image/jpeg",
    b"\xabKTX 20\xbb": "image/ktx2",
}
WEBP_MARK = (b"RIFF", b"WEBP")


def embed_pictures(builder: Builder, document: Document) -> tuple[str, ...]:
    """Move every picture with a URI into the binary chunk; one sentence for each that had to stay outside."""
    notes: list[str] = []
    for index, (entry, image) in enumerate(zip(builder.table("images"), document.gltf.images)):
        if image.uri is None:
            continue
        try:
            data = fetch(document.path, image.uri, f"images[{index}]")
        except FileError:
            notes.append(f"The picture {shorten(image.uri)!r} is not beside the garment; only its name was kept.")
            continue
        media = _media(data, image)
        if media is None:
            notes.append(f"The picture {shorten(image.uri)!r} is of no known kind; only its name was kept.")
            continue
        del entry["uri"]
        entry["bufferView"] = builder.add_view(data)
        entry["mimeType"] = media
    return tuple(notes)


def _media(data: bytes, image: Image) -> str | None:
    for signature, media in SIGNATURES.items():
        if data.startswith(signature):
            return media
    if (data[:4], data[8:12]) == WEBP_MARK:
        return "image/webp"
    stated = media_type(image.uri) if image.uri and is_data(image.uri) else ""
    return image.mime_type or stated or None
