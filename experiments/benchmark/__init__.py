"""Speed: what is measured by `rally-recovery benchmark`, and what it is measured against."""
