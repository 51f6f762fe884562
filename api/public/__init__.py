"""What anybody may see without an account: certificates, and what they are checked with."""
