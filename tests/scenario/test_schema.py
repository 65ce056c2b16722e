"""The JSON Schema says what the models accept, in words."""

from __future__ import annotations

import tomllib
from typing import Any

import jsonschema
import pytest

from flatodds.scenario import json_schema
from flatodds.scenario.problems import models
from flatodds.scenario.templates import demo, demos, starter
from flatodds.scenario.written import WrittenScenario

TABLES = {"bank", "array", "controller", "inverter", "household", "shell", "appliance", "stay"}
TABLES |= {"generator", "drive", "hookup", "cooling"}


@pytest.fixture(scope="module")
def validator() -> Any:
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def test_every_field_is_described() -> None:
    for name, model in models().items():
        assert model.__doc__, name
        for key, field in model.model_fields.items():
            assert field.description, f"{name}.{key}"
    assert set(models()) == TABLES | {"uncertain", "variant", "prices"}
    assert set(WrittenScenario.model_fields) >= TABLES


@pytest.mark.parametrize("name", sorted(demos()))
def test_the_demos_agree_with_the_schema(validator: Any, name: str) -> None:
    validator.validate(tomllib.loads(demo(name)))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("array.watts", "array.wats"),
        ('"lithium"', '"nickel"'),
        ("= 400 ", '= "400"'),
        ("= 45", "= 366"),
        ("array.watts       = 800", "array = []"),
    ],
)
def test_the_schema_refuses_what_the_models_refuse(validator: Any, old: str, new: str) -> None:
    document = tomllib.loads(starter().replace(old, new))
    assert document != tomllib.loads(starter())
    assert not validator.is_valid(document)


def test_there_is_no_null_in_toml() -> None:
    def walk(node: Any) -> None:
        if isinstance(node, dict):
            assert node.get("type") != "null"
            assert "default" not in node or isinstance(node["default"], dict)
            for item in node.values():
                walk(item)
        elif isinstance(node, list):
            for item in node:
                walk(item)

    walk(json_schema())
