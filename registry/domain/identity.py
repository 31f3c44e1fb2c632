"""What makes two rows speak of the same assembly, party, premises, gauge or firm."""

import hashlib
import re
import unicodedata

from registry.domain.cells import clean, spellings

_ILLEGIBLE = spellings(
    "? ?? ??? ???? tbd missing illegible unreadable noserial notag worn x xx xxx 0 00 000 0000"
) | {
    "no serial", "no serial number", "no tag", "not legible", "can't read", "cannot read",
    "serial unknown", "worn off", "not visible", "no number", "no sn", "no s/n",
}  # fmt: skip

_STREET_WORDS = {
    "street": "st", "str": "st", "avenue": "ave", "av": "ave", "road": "rd", "drive": "dr",
    "court": "ct", "lane": "ln", "boulevard": "blvd", "place": "pl", "circle": "cir",
    "highway": "hwy", "parkway": "pkwy", "terrace": "ter", "square": "sq", "trail": "trl",
    "north": "n", "south": "s", "east": "e", "west": "w", "northeast": "ne", "northwest": "nw",
    "southeast": "se", "southwest": "sw", "suite": "ste", "apartment": "apt", "building": "bldg",
    "number": "no",
}  # fmt: skip


def folded(text: str) -> str:
    """Case, blanks and look-alike forms of characters set aside; accents and marks stay."""
    cleaned = clean(text)
    if cleaned.isascii():
        return cleaned.lower()
    return " ".join(unicodedata.normalize("NFKC", cleaned).casefold().split())


def serial_key(serial: str) -> str:
    """A serial as it is compared: upper case, without blanks; dashes and zeros count."""
    return folded(serial).upper().replace(" ", "")


def maker_key(maker: str) -> str:
    """A maker as it is compared: case, blanks and full stops set aside."""
    return folded(maker).replace(".", "").strip()


def is_no_serial(raw: str) -> bool:
    """Whether the cell says that nobody could read a serial (blank is tested elsewhere)."""
    return folded(raw) in _ILLEGIBLE


def address_key(address: str) -> str:
    """An address line as it is compared: Street and St., SE and Southeast are the same."""
    words = re.findall(r"[\w/&'-]+|#", folded(address).replace(".", ""))
    return " ".join(_STREET_WORDS.get(word, word) for word in words)


def account_key(account: str) -> str:
    """An account as it is compared: without blanks, upper case."""
    return folded(account).upper().replace(" ", "")


def premises_key(*, account: str, address: str, city: str = "") -> str:
    """Digest of the account with its address; without an account the city counts too."""
    town = "" if account_key(account) else folded(city)
    return _digest(account_key(account), address_key(address), town)


def party_key(*, name: str, address: str, city: str, state: str, zip_code: str) -> str:
    """Digest of the name and the mailing address; of the ZIP only the first five figures count."""
    return _digest(
        folded(name), address_key(address), folded(city), folded(state), folded(zip_code)[:5]
    )


def firm_key(name: str) -> str:
    """A testing company's name as it is compared."""
    return re.sub(r"[.,]", "", folded(name)).strip()[:200]


def _digest(*parts: str) -> str:
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()
