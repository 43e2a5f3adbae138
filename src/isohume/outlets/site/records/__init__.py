"""What happened and can it be proved: records, signatures, certificates, trails."""
