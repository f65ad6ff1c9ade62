"""The maker's own, beside her cases: her settings, her rules and what they rest on, the files written for her."""
