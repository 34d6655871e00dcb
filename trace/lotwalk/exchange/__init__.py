"""What leaves the farm as data: the sortable spreadsheet of key data elements, CSV, and EPCIS 2.0."""
