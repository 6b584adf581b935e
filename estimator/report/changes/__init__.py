"""What changed between two priced workbooks, or since an earlier revision, and what that makes in money."""
