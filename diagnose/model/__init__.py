"""Facts from outside, and what is said of them.

Which kind of value is which: pydantic reads what comes from outside (answers, patterns, rules, the files of a case) and
stops at that door. Inside, a value is a frozen `msgspec.Struct`, built by keyword where it has more than three fields;
a NamedTuple only where it is really unpacked as a tuple, like a point. Dictionaries stand only where something is
stored or comes from outside.
"""
