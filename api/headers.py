"""Security headers that every answer carries.

The policy lets a page load only what this service serves: our own scripts, styles, pictures and
data; nothing inline, nothing from elsewhere (W3C Content Security Policy Level 3). Leaflet moves
things by setting style properties from script, which the policy allows.
"""

from __future__ import annotations

CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)
SECURITY_HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
