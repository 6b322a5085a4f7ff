"""Validates a document against a JSON Schema (draft 2020-12); says what is wrong."""

import json
import sys

import jsonschema

asked = json.load(sys.stdin)
validator = jsonschema.Draft202012Validator
validator.check_schema(asked["schema"])
errors = [error.message[:200] for error in validator(asked["schema"]).iter_errors(asked["document"])]
json.dump({"errors": errors}, sys.stdout)
