"""Pictures as SVG text: one Python function a picture, used alike by the report and the workbench."""
