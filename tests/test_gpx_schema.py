"""The schema that GPX files are held against refuses what it should."""

import pytest
import xmlschema

from gpx_schema import hold_against_schema, schema

HEAD = '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="towscope">'


@pytest.mark.skipif(schema() is None, reason="the schema of GPX 1.1 is not on this machine")
def test_a_track_before_a_point_is_refused() -> None:
    assert hold_against_schema(f'{HEAD}<wpt lat="1" lon="2"/><trk/></gpx>')
    with pytest.raises(xmlschema.XMLSchemaException):
        hold_against_schema(f'{HEAD}<trk/><wpt lat="1" lon="2"/></gpx>')
    with pytest.raises(xmlschema.XMLSchemaException):
        hold_against_schema(f'{HEAD}<wpt lat="91" lon="2"/></gpx>')
