"""How the machine-readable description of the REST interface is made from the views."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes


class Bearer(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = "api.rest.tokens.TokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer"}


class Schema(AutoSchema):
    """Request bodies are the view's `given` serializer, answers plain objects."""

    def get_operation_id(self) -> str:
        """The method and the path in words: no two operations share both."""
        words = [word.strip("{}").replace("-", "_") for word in self.path.split("/") if word]
        marked = ["by" if "{" in word else "" for word in self.path.split("/") if word]
        parts = [f"{by}_{word}" if by else word for by, word in zip(marked, words, strict=True)]
        return "_".join([self.method.lower(), *parts])

    def get_request_serializer(self) -> Any:
        """The Input that a view names as `given`, or any object."""
        return getattr(self.view, "given", None) or OpenApiTypes.OBJECT

    def get_response_serializers(self) -> Any:
        return OpenApiTypes.OBJECT
