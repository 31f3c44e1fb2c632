"""Sheets of paper made from what is decided: certificates, service sheets, lists to bring."""
