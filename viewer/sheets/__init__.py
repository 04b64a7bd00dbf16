"""The sheet pack: a plan as pages to print, to scale, for table, ladder, store and inspector."""

from barnloom.viewer.sheets.pack import pack_pdf as pack_pdf
