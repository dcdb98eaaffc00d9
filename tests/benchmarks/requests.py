"""HTTP requests as bytes, so that sending one costs the load nothing but the sending."""


def post(path: str, authorization: str, media_type: str, body: bytes) -> bytes:
    head = (
        f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: {authorization}\r\n"
        f"Content-Type: {media_type}\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body
