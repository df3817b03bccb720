"""Scans as pictures: the facts of their pixels."""

from catalog.imaging.digests import Digests, file_digest
from catalog.imaging.resolution import worked_out_ppi
from catalog.imaging.scan_file import ScanFile, ScanPage, is_litter, is_scan_name
from catalog.imaging.scan_files import picture_digest, read_digests, read_scan_file

__all__ = [
    "Digests",
    "ScanFile",
    "ScanPage",
    "file_digest",
    "is_litter",
    "is_scan_name",
    "picture_digest",
    "read_digests",
    "read_scan_file",
    "worked_out_ppi",
]
