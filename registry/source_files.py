"""A file handed to a load, in hand as bytes, and the one way to say that nothing was loaded."""

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from registry.sheets import LARGEST_FILE_BYTES, Sheet, UnreadableSheetError, parse_sheet


class LoadRefusedError(ValueError):
    """Nothing was loaded; the message is a sentence that says why and what to do."""


@dataclass(frozen=True, kw_only=True)
class SourceFile:
    """A file in hand: its name for the record, and its bytes."""

    name: str
    data: bytes

    @property
    def digest(self) -> str:
        """SHA-256 of the bytes: the same file is known again."""
        return sha256(self.data).hexdigest()

    def sheet(self) -> Sheet:
        """The file as a sheet. Raises LoadRefusedError when it cannot be read."""
        try:
            return parse_sheet(data=self.data, name=self.name)
        except UnreadableSheetError as error:
            raise LoadRefusedError(str(error)) from error


def source_file(path: Path) -> SourceFile:
    """Read a file. Raises LoadRefusedError when there is none, or it is too large."""
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise LoadRefusedError(f"{path.name} is larger than 200 MB. Split it into parts.")
        return SourceFile(name=path.name, data=path.read_bytes())
    except OSError as error:
        raise LoadRefusedError(
            f"{path} cannot be read: {error.strerror or error}. Check its name and permissions."
        ) from error
