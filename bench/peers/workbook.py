"""The same work as living formulas: writes the workbook that a spreadsheet engine works out, and reads what it
gave. Of one laboratory; every tenth test is on reference aggregate.

Usage: workbook.py write TESTS BOOK, or workbook.py read GIVEN OUT.
"""
import csv
import sys

from recompute import BASELINE, D2, RULES


def write(tests, book):
    import xlsxwriter

    rows = list(csv.DictReader(open(tests)))
    workbook = xlsxwriter.Workbook(book)
    sheet = workbook.add_worksheet("Tests")
    sheet.write_row(0, 0, ["laboratory", "test", "kind", "lot", "after1_g", "after2_g", "first", "second", "mean",
                           "loss", "agree", "z", "signals"])
    charts = {}
    for at, row in enumerate(rows, 1):
        line = at + 1
        sheet.write_row(at, 0, [row["laboratory"], row["test"], row["kind"], row["lot"], float(row["after1_g"]),
                                float(row["after2_g"])])
        sheet.write_formula(at, 6, f"=(500-E{line})/5")
        sheet.write_formula(at, 7, f"=(500-F{line})/5")
        sheet.write_formula(at, 8, f"=ROUND((G{line}+H{line})/2,9)")
        sheet.write_formula(
            at, 9, f"=IF(ABS(I{line}-INT(I{line})-0.5)<1E-9,2*ROUND(I{line}/2,0),ROUND(I{line},0))")
        sheet.write_formula(at, 10, f'=IF(ROUND(ABS(G{line}-H{line}),9)<=ROUND(0.893+0.003*I{line},9),"yes","no")')
        if row["kind"] == "reference":
            charts.setdefault(row["lot"], []).append(line)
    limits = workbook.add_worksheet("Limits")
    for chart, lines in enumerate(charts.values(), 1):
        first, rest = lines[:BASELINE], lines[BASELINE:]
        limits.write_formula(chart - 1, 0, "=AVERAGE(" + ",".join(f"Tests!I{line}" for line in first) + ")")
        ranges = ",".join(f"ABS(Tests!I{b}-Tests!I{a})" for a, b in zip(first, first[1:]))
        limits.write_formula(chart - 1, 1, f"=AVERAGE({ranges})/{D2!r}")
        for at, line in enumerate(rest):
            sheet.write_formula(line - 1, 11, f"=ROUND((I{line}-Limits!$A${chart})/Limits!$B${chart},9)")
            said = []
            for number, (needed, window, beyond) in RULES.items():
                cells = rest[max(0, at - window + 1):at + 1]
                sides = []
                for sign, is_beyond in ((1, f">{beyond}"), (-1, f"<-{beyond}" if beyond else "<0")):
                    count = "+".join(f"IF(L{cell}{is_beyond},1,0)" for cell in cells)
                    sides.append(f"AND(L{line}{is_beyond},{count}>={needed})")
                said.append(f'IF(OR({",".join(sides)}),"+{number}","")')
            sheet.write_formula(line - 1, 12, f'=MID({"&".join(said)},2,9)')
    workbook.close()


def read(given, out):
    with open(out, "w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["laboratory", "test", "loss", "agree", "signals"])
        for row in csv.DictReader(open(given)):
            writer.writerow([row["laboratory"], row["test"], row["loss"], row["agree"], row["signals"] or ""])


if __name__ == "__main__":
    {"write": write, "read": read}[sys.argv[1]](*sys.argv[2:4])
