"""Operations on what is cut into an edge or punched along it: gores in their slits, tabs, eyelets."""
