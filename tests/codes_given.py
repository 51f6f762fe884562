"""Which codes the program gives: read from its source, so that none can be forgotten."""

import ast

# Calls that carry a code, and where; a function of ours with a parameter `code` is another.
CARRIES = {"refuse": 0, "Reason": 0, "Problem": 2, "Unreadable": 0}
NAMED_ONLY = 99  # only ever by keyword
CARRIES |= dict.fromkeys(("ValidationError", "Refused", "transfer"), NAMED_ONLY)


def place_of_code(node):
    """The name of a function or class with a `code`, and which of its arguments that is."""
    names = []
    if isinstance(node, ast.FunctionDef):
        names = [one.arg for one in node.args.args if one.arg != "self"]
    elif isinstance(node, ast.ClassDef):
        names = [one.target.id for one in node.body if isinstance(one, ast.AnnAssign)]
    return {node.name: names.index("code")} if "code" in names else {}


def texts(node, constants):
    """Every text that an expression may give."""
    for one in ast.walk(node):
        if isinstance(one, ast.Constant) and isinstance(one.value, str):
            yield one.value
        if isinstance(one, ast.Name) and one.id in constants:
            yield from texts(constants[one.id], {})


def constants_of(tree):
    assigned = [one for one in tree.body if isinstance(one, ast.Assign)]
    return {ast.unparse(one.targets[0]): one.value for one in assigned}


def codes_in(tree):
    """The codes that a module gives, by literal, constant or a table named `…CODES`."""
    constants = constants_of(tree)
    carries = dict(CARRIES)
    for node in ast.walk(tree):
        carries |= place_of_code(node)
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            place = carries.get(name, NAMED_ONLY + 1)
            named = [one.value for one in node.keywords if one.arg == "code"]
            given = named if place <= NAMED_ONLY else []
            for argument in given or node.args[place : place + 1]:
                yield from texts(argument, constants)
    for name, value in constants.items():
        if name.endswith("CODES") and isinstance(value, ast.Dict):
            for one in value.values:
                yield from texts(one, {})
